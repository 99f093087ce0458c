"""A C compiler for the tests: the machine's own, or the one that builds the core."""

from __future__ import annotations

import sys

from modewright.firmware.replay import found_compiler

__all__ = ["CORE_BUILDER", "c_compiler"]

CORE_BUILDER = (sys.executable, "-m", "ziglang")


def c_compiler() -> tuple[str, ...]:
    """Command of a C compiler."""
    return found_compiler() or (*CORE_BUILDER, "cc")
