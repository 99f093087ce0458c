"""C sources that go with every note, as they lie in the package."""

from __future__ import annotations

from importlib import resources

__all__ = ["source_files"]

_FILES = ("controller.h", "controller.c", "control.h", "numbers.h", "replay.c", "Makefile")


def source_files() -> dict[str, str]:
    """Contents by file name."""
    folder = resources.files("modewright.firmware") / "c"
    return {name: (folder / name).read_text(encoding="utf-8") for name in _FILES}
