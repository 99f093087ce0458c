"""Builds the real-time core whenever the package is installed or packed."""

from __future__ import annotations

import importlib.util
import sys
import sysconfig
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class EngineBuildHook(BuildHookInterface):
    """Runs ``engine/build.py`` and puts its artefacts into the wheel."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        """Build, and mark the wheel as fit for this platform only."""
        # The hook is loaded by its path, so its neighbour has to be as well.
        path = Path(self.root) / "engine" / "build.py"
        spec = importlib.util.spec_from_file_location("modewright_engine_build", path)
        if spec is None or spec.loader is None:
            raise ImportError(f"engine: expected a Python file at {path}")
        module = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = module  # where dataclasses look their module up
        spec.loader.exec_module(module)
        module.build()
        platform = sysconfig.get_platform().replace("-", "_").replace(".", "_")
        build_data["pure_python"] = False
        build_data["infer_tag"] = False
        build_data["tag"] = f"py3-none-{platform}"
        build_data["artifacts"].append("src/modewright/sound/engine_build/*")
