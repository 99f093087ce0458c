"""Numbers of a design by their address, such as ``resonator.arms[2].length``.

Addresses are written as messages write them: keys of the file, entries of lists counted from 1.
A place such as ``pickups[1].plate.centre`` holds two numbers, ``…centre[1]`` and ``…centre[2]``.
"""

from __future__ import annotations

import dataclasses
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar, cast

from modewright.design.lines import path_of, path_text
from modewright.design.read import section_keys
from modewright.design.suggest import near_miss
from modewright.design.values import broken_limit
from modewright.errors import DesignError, Problem
from modewright.parameters import SelfChecking
from modewright.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from modewright.design.lines import Path
    from modewright.parameters import FieldSpec

__all__ = ["Address", "check_design", "find_number", "numbers_of", "replaced"]

SectionT = TypeVar("SectionT")

_WRITTEN = re.compile(r"[A-Za-z0-9_-]+(?:\[\d+\])*(?:\.[A-Za-z0-9_-]+(?:\[\d+\])*)*")
_LONGEST = 200
_LISTED = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """One number of a design.

    Parameters
    ----------
    path : tuple
        Keys and positions from 0.
    spec : FieldSpec
        Description of its field, with unit and limits.
    value : float or None
        In SI units; None if it is not given.
    """

    path: Path
    spec: FieldSpec
    value: float | None

    @property
    def text(self) -> str:
        """As it is written."""
        return path_text(self.path)

    def shown(self, value: float, digits: int = 6) -> str:
        """A value of this number as the design file writes it, with its unit."""
        return format_quantity(value, self.spec.unit, show=self.spec.show, digits=digits)


def numbers_of(design: object) -> tuple[Address, ...]:
    """All quantities of a design, in the order of the file.

    Parameters
    ----------
    design : dataclass of sections

    Returns
    -------
    tuple of Address
        Those that are not given have no value.
    """
    return tuple(_numbers(design, ()))


def _numbers(section: object, path: Path) -> Iterator[Address]:
    for key, (field, spec) in section_keys(type(section)).items():
        value: object = getattr(section, field.name)
        here = (*path, key)
        if spec.kind == "section" and value is not None:
            yield from _numbers(value, here)
        elif spec.kind == "sections":
            for number, entry in enumerate(_entries(value)):
                yield from _numbers(entry, (*here, number))
        elif spec.kind in ("quantity", "quantities", "point", "points"):
            yield from _leaves(value, spec, here)


def _leaves(value: object, spec: FieldSpec, path: Path) -> Iterator[Address]:
    if isinstance(value, float | int):
        yield Address(path=path, spec=spec, value=float(value))
    elif value is not None:
        for number, entry in enumerate(_entries(value)):
            yield from _leaves(entry, spec, (*path, number))
    elif spec.kind == "quantity":
        yield Address(path=path, spec=spec, value=None)


def _entries(value: object) -> tuple[object, ...]:
    return cast("tuple[object, ...]", value)


def find_number(design: object, text: str, *, key: str = "address") -> Address:
    """Number at an address.

    Parameters
    ----------
    design : dataclass of sections
    text : str
        Such as ``stock.thickness``.
    key : str
        Key of the file that names it, for the message; as it is for one that came by hand.

    Returns
    -------
    Address

    Raises
    ------
    DesignError
        If there is none; names the nearest, or those of the section.
    """
    known = {address.text: address for address in numbers_of(design)}
    if text in known:
        return known[text]
    raise DesignError([_unknown(key, text, list(known))])


def _unknown(key: str, text: str, known: list[str]) -> Problem:
    shown = text[:_LONGEST]
    close = near_miss(shown, known)
    inside = [name for name in known if name.startswith((f"{shown}.", f"{shown}["))]
    if inside:
        hint = f"Name one of its numbers: {', '.join(inside[:_LISTED])}."
    elif close:
        hint = f'Did you mean "{close}"?'
    elif _WRITTEN.fullmatch(shown):
        section = shown.split(".")[0].split("[")[0]
        others = [name for name in known if name.split(".")[0].split("[")[0] == section]
        hint = f"There are {', '.join((others or known)[:_LISTED])}."
    else:
        hint = 'Write keys with dots and entries from 1, such as "resonator.arms[2].length".'
    return Problem(what=key, expected="a number of the design", got=f'"{shown}"', hint=hint)


def replaced(design: SectionT, address: str, value: float) -> SectionT:
    """Design with another value in one place.

    Parameters
    ----------
    design : dataclass of sections
    address : str
        As for `find_number`.
    value : float
        In SI units. It is not judged here; `check_design` does.

    Returns
    -------
    same type
        A new design.

    Raises
    ------
    DesignError
        If there is no such number.
    """
    return _replaced(design, find_number(design, address).path, value)


def _replaced(section: Any, path: Path, value: float) -> Any:  # noqa: ANN401 (any section)
    if not path:
        return value
    head, rest = path[0], path[1:]
    if isinstance(head, int):
        entries = list(_entries(section))
        entries[head] = _replaced(entries[head], rest, value)
        return tuple(entries)
    kind = cast("type[Any]", section.__class__)
    field, _ = section_keys(kind)[head]
    inner = _replaced(getattr(section, field.name), rest, value)
    return dataclasses.replace(section, **{field.name: inner})


def check_design(design: object) -> None:
    """Judge a design that came from no file as the reader would.

    Parameters
    ----------
    design : dataclass of sections

    Raises
    ------
    DesignError
        With every value beyond a hard limit and every fault that a section finds.
    """
    problems = [
        Problem(what=a.text, expected=broken, got=a.shown(a.value))
        for a in numbers_of(design)
        if a.value is not None and (broken := broken_limit(a.value, a.spec))
    ]
    # A section may rely on its own values being within their limits.
    problems = problems or list(_faults(design, ()))
    if problems:
        raise DesignError(problems)


def _faults(section: object, path: Path) -> Iterator[Problem]:
    if isinstance(section, SelfChecking):
        for fault in section.problems():
            yield Problem(
                what=path_text((*path, *path_of(fault.key))),
                expected=fault.expected,
                got=fault.got,
                hint=fault.hint,
            )
    for key, (field, spec) in section_keys(type(section)).items():
        value: object = getattr(section, field.name)
        if spec.kind == "section" and value is not None:
            yield from _faults(value, (*path, key))
        elif spec.kind == "sections":
            for number, entry in enumerate(_entries(value)):
                yield from _faults(entry, (*path, key, number))
