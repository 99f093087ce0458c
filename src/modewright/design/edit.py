"""Change values of a design file and leave everything else of it as its author wrote it.

The only module that knows the editing TOML library, whose types are loose: hence the switch below.
"""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from modewright.design.lines import path_of
from modewright.errors import DesignError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["edited_text"]


def edited_text(text: str, changes: Mapping[str, str]) -> str:
    """Design file with other values; comments, order, spacing and line ends stay.

    Parameters
    ----------
    text : str
        The file, which the reader accepts.
    changes : mapping from str to str
        Values as the file writes them, without quotes, by their addresses, such as
        ``resonator.arms[2].length``. A key that the file leaves out is added to its table, and a
        section that it leaves out at its end.

    Returns
    -------
    str

    Raises
    ------
    DesignError
        If a list on the way to a value does not stand in the file.
    """
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as error:
        fault = Problem(what="file", expected="TOML that can be edited", got=str(error))
        raise DesignError([fault]) from error
    for address, value in changes.items():
        _set(document, address, value)
    return tomlkit.dumps(document)


def _set(document: Any, address: str, value: str) -> None:  # noqa: ANN401 (loose types)
    *steps, last = path_of(address)
    place = document
    for depth, step in enumerate(steps):
        is_section_left_out = depth == 0 and step not in place and _are_keys(steps)
        if is_section_left_out:
            place[step] = tomlkit.table()
        try:
            place = place[step]
        except (KeyError, IndexError, TypeError) as error:
            raise DesignError([_missing(address)]) from error
    if isinstance(last, int) and not 0 <= last < len(place):
        raise DesignError([_missing(address)])
    known = place[last] if isinstance(last, int) or last in place else None
    is_bare = isinstance(known, int | float) or (known is None and _is_number(value))
    place[last] = tomlkit.value(value) if is_bare and _is_number(value) else value


def _are_keys(steps: Iterable[int | str]) -> bool:
    return all(isinstance(step, str) for step in steps)


def _is_number(value: str) -> bool:
    try:
        float(value)
    except ValueError:
        return False
    return True


def _missing(address: str) -> Problem:
    return Problem(
        what=address,
        expected="a value written in the file, so that it can be changed there",
        got="nothing",
        hint="Write its section into the design file first.",
    )
