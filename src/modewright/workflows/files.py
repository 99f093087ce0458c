"""Write files beside their destination first, then rename: a stop never leaves half a file."""

from __future__ import annotations

import contextlib
import os
from typing import TYPE_CHECKING

from modewright.errors import ModewrightError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["check_place", "made_folder", "write_bytes", "write_text"]


def check_place(path: Path) -> None:
    """See before long work whether a file can be written.

    Raises
    ------
    ModewrightError
        If the path is that of a folder, or its folder cannot be written to.
    """
    _check_name(path)
    if path.is_dir():
        raise _is_a_folder(path)
    if not os.access(path.parent, os.W_OK):
        raise ModewrightError(
            f"{path}: expected a folder that can be written to, got {path.parent}.",
            hint="Choose another path.",
        )


def _check_name(path: Path) -> None:
    if path.name in ("", ".."):
        raise _is_a_folder(path)


def _is_a_folder(path: Path) -> ModewrightError:
    return ModewrightError(
        f"{path}: expected a file to write, got a folder.",
        hint=f"Add a name, such as {path / 'result'}.",
    )


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file whole or not at all.

    Raises
    ------
    ModewrightError
        If the folder cannot be written to.
    """
    _check_name(path)
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(content)
        beside.replace(path)
    except OSError as error:
        raise ModewrightError(
            f"{path}: expected a place to write to, got: {error.strerror}.",
            hint="Choose another path or make room.",
        ) from error
    finally:
        with contextlib.suppress(FileNotFoundError, NotADirectoryError):
            beside.unlink()


def write_text(path: Path, content: str) -> None:
    """Write a text file in UTF-8, whole or not at all."""
    write_bytes(path, content.encode("utf-8"))


def made_folder(path: Path) -> Path:
    """Make a folder with its parents, unless it is there.

    Raises
    ------
    ModewrightError
        If something else stands there or it cannot be made.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ModewrightError(
            f"{path}: expected a folder or nothing, got: {error.strerror}.",
            hint="Choose another folder.",
        ) from error
    return path
