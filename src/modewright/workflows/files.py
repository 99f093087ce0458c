"""Files and folders that a verb writes: whole or not at all, and seen before long work."""

from __future__ import annotations

import tempfile
from typing import TYPE_CHECKING

from modewright.errors import ModewrightError
from modewright.written import written_beside

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["check_folder", "check_place", "made_folder", "write_bytes", "write_text"]


def check_place(path: Path) -> None:
    """See before long work whether a file can be written.

    Raises
    ------
    ModewrightError
        If the path is that of a folder, or its folder cannot be written to.
    """
    _check_name(path)
    try:
        is_folder = path.is_dir()
    except OSError as error:
        raise _locked(path, path.parent, error) from error
    if is_folder:
        raise _is_a_folder(path)
    _try(path.parent, path)


def check_folder(path: Path) -> None:
    """See before long work whether files can be written to a folder, which need not be there yet.

    Raises
    ------
    ModewrightError
        If a file stands there, or nothing can be written to it or made where it would be.
    """
    try:
        nearest = path.absolute()
        while not nearest.exists() and nearest != nearest.parent:
            nearest = nearest.parent
        is_file = not nearest.is_dir()
    except OSError as error:
        raise _locked(path, path, error) from error
    if is_file:
        raise ModewrightError(
            f"{path}: expected a folder or nothing, got a file at {nearest}.",
            hint="Choose another folder.",
        )
    _try(nearest, path)


def _try(folder: Path, path: Path) -> None:
    """Write there: permissions alone do not tell of full, read-only and made-up file systems."""
    try:
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise _locked(path, folder, error) from error


def _locked(path: Path, folder: Path, error: OSError) -> ModewrightError:
    return ModewrightError(
        f"{path}: expected a folder that can be written to, got {folder} ({error.strerror}).",
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
    try:
        with written_beside(path) as part:
            part.write_bytes(content)
    except OSError as error:
        raise ModewrightError(
            f"{path}: expected a place to write to, got: {error.strerror}.",
            hint="Choose another path or make room.",
        ) from error


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
