"""Start a new design file."""

from __future__ import annotations

import os
import pathlib
import tempfile

from modewright.design.source import shown_reason
from modewright.design.starter import starter_design_text
from modewright.errors import DesignError, Problem

__all__ = ["write_starter"]

_ELSEWHERE = "Choose another place or another name."


def write_starter(path: str | pathlib.Path) -> None:
    """Write a commented design file to start from.

    The name is claimed first, which fails if it is taken; the text is written beside it and then
    moved there, so that nobody ever reads half a file.

    Parameters
    ----------
    path : str or path
        Name of the new file; its folder must exist.

    Raises
    ------
    DesignError
        If something of this name exists, or the folder cannot be written to.
    """
    target = pathlib.Path(path)
    try:
        target.touch(exist_ok=False)
    except FileExistsError as error:
        hint = "Choose another name; nothing was overwritten."
        raise DesignError([_refused(target, "something that exists", hint)]) from error
    except FileNotFoundError as error:
        hint = "Make the folder first, or choose another place."
        raise DesignError([_refused(target, f"no folder {target.parent}", hint)]) from error
    except (OSError, ValueError) as error:
        raise DesignError([_refused(target, shown_reason(error), _ELSEWHERE)]) from error
    try:
        _write_beside(target, starter_design_text())
    except OSError as error:
        target.unlink(missing_ok=True)
        raise DesignError([_refused(target, shown_reason(error), _ELSEWHERE)]) from error


def _write_beside(target: pathlib.Path, content: str) -> None:
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".new_design_")
    beside = pathlib.Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(content)
        beside.chmod(target.stat().st_mode)
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)


def _refused(target: pathlib.Path, got: str, hint: str) -> Problem:
    return Problem(
        file=str(target), what="file", expected="a name for a new file", got=got, hint=hint
    )
