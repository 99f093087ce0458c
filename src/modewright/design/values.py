"""Read one value of the design file: quantities, counts, words, places."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from modewright.design.findings import shown_value
from modewright.design.suggest import (
    did_you_mean,
    implausibility_factor,
    listed,
    other_unit,
    range_text,
    with_point,
)
from modewright.units import UnitError, format_quantity, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.design.findings import Place
    from modewright.design.toml_types import Toml
    from modewright.parameters import FieldSpec

__all__ = ["UNREADABLE", "broken_limit", "read_value"]


class _Unreadable:
    """Stands for a value whose fault has been noted."""


UNREADABLE = _Unreadable()

SLIP_FACTOR = 100.0
"""A value this many times outside the plausible range is a slip of units, not a bold design."""

# One more digit than any quantity needs, and far from what a float cannot hold.
_MAX_INTEGER = 10**15


def read_value(value: Toml, spec: FieldSpec, at: Place) -> object:
    """Read one value that is not a table of its own.

    Parameters
    ----------
    value : object
        As the TOML reader gave it.
    spec : FieldSpec
        What it should be.
    at : Place
        Where it stands; takes the faults.

    Returns
    -------
    object
        In SI units, or `UNREADABLE` if a fault was noted.
    """
    return _READERS[spec.kind](value, spec, at)


def _quantity(value: Toml, spec: FieldSpec, at: Place) -> float | _Unreadable:
    written = value
    if spec.unit == "1" and isinstance(value, int | float) and not isinstance(value, bool):
        written = repr(value) if abs(value) < _MAX_INTEGER else value
    if not isinstance(written, str):
        hint = _unit_hint(value, spec) or _form_hint(value, spec)
        at.fault(_wanted(spec), shown_value(value), hint)
        return UNREADABLE
    try:
        number = parse_quantity(written, spec.unit)
    except UnitError as error:
        hint = (
            _point_hint(written) or _unit_hint(written, spec) or _sharper(error.hint, written, spec)
        )
        at.fault(_wanted(spec), shown_value(value), hint)
        return UNREADABLE
    return number if _is_within(number, written, spec, at) else UNREADABLE


def _point_hint(written: str) -> str:
    pointed = with_point(written)
    return f'Decimals follow a point: did you mean "{pointed}"?' if pointed else ""


def _sharper(hint: str, written: str, spec: FieldSpec) -> str:
    suggestion = "" if "Did you mean" in hint else other_unit(written, spec)
    return f'{hint} Did you mean "{suggestion}"?' if suggestion else hint


def _wanted(spec: FieldSpec) -> str:
    return f"a quantity such as {example(spec)}"


def example(spec: FieldSpec) -> str:
    """Quantity that would do for a field, in quotes, from the middle of its plausible range."""
    if spec.plausible is None:
        return _plain_example(spec)
    low, high = spec.plausible
    value = math.sqrt(low * high) if low > 0 else (low + high) / 2
    return f'"{format_quantity(value, spec.unit, show=spec.show, digits=2)}"'


def _plain_example(spec: FieldSpec) -> str:
    """One of the unit in which the field is shown, or a limit if that is out of bounds."""
    one = f"1 {spec.show}" if spec.show != "1" else "0.1"
    number = parse_quantity(one, spec.unit)
    if not broken_limit(number, spec):
        return f'"{one}"'
    known = [n for n in (spec.at_least, spec.at_most, spec.above, spec.below) if n is not None]
    return f'"{format_quantity(known[0], spec.unit, show=spec.show, digits=2)}"'


def _unit_hint(value: Toml, spec: FieldSpec) -> str:
    try:
        number = float(value) if isinstance(value, str | int | float) else math.nan
    except (ValueError, OverflowError):
        return ""
    if isinstance(value, bool) or not math.isfinite(number) or spec.unit == "1":
        return ""
    with_unit = other_unit(f"{number:g}", spec) or f"{number:g} {spec.show}"
    return f'Add the unit, such as "{with_unit}".'


def _form_hint(value: Toml, spec: FieldSpec) -> str:
    """What to write in place of something that is no quantity at all."""
    if isinstance(value, list):
        return "Write one quantity, without square brackets."
    if isinstance(value, dict):
        return "Write one quantity, no section."
    if spec.unit == "1":
        return "Write a finite number."
    return "Write a finite number and its unit, in quotes."


def _is_within(number: float, written: str, spec: FieldSpec, at: Place) -> bool:
    broken = broken_limit(number, spec)
    suggestion = other_unit(written, spec)
    hint = f'Did you mean "{suggestion}"?' if suggestion else ""
    if broken:
        at.fault(broken, shown_value(written), hint)
        return False
    if spec.plausible is None:
        return True
    factor = implausibility_factor(number, spec.plausible)
    if factor == 1.0:
        return True
    expected = f"something like {range_text(*spec.plausible, spec)}"
    if factor >= SLIP_FACTOR:
        at.fault(expected, shown_value(written), hint or "Check the number and its unit.")
        return False
    at.doubt(expected, shown_value(written), hint)
    return True


def broken_limit(number: float, spec: FieldSpec) -> str:
    """Hard limit of a field that a number does not keep, in words; empty if it keeps all."""
    limits: list[tuple[str, float | None, Callable[[float, float], bool]]] = [
        ("more than", spec.above, lambda n, limit: n > limit),
        ("at least", spec.at_least, lambda n, limit: n >= limit),
        ("less than", spec.below, lambda n, limit: n < limit),
        ("at most", spec.at_most, lambda n, limit: n <= limit),
    ]
    for words, limit, holds in limits:
        if limit is not None and not holds(number, limit):
            return f"{words} {limit_text(limit, spec)}"
    return ""


def limit_text(limit: float, spec: FieldSpec) -> str:
    """Write a limit of a field the way its values are written."""
    if spec.kind in ("count", "mode", "modes"):
        return f"{limit:g}"
    return format_quantity(limit, spec.unit, show=spec.show, digits=6)


def _quantities(value: Toml, spec: FieldSpec, at: Place) -> tuple[object, ...] | _Unreadable:
    wanted = f"a list such as [{example(spec)}, …]"
    return _list(value, at, wanted, spec.length, lambda entry, place: _quantity(entry, spec, place))


def _point(value: Toml, spec: FieldSpec, at: Place) -> tuple[object, ...] | _Unreadable:
    wanted = 'a place such as ["12 mm", "3 mm"]'
    return _list(value, at, wanted, 2, lambda entry, place: _quantity(entry, spec, place))


def _points(value: Toml, spec: FieldSpec, at: Place) -> tuple[object, ...] | _Unreadable:
    wanted = 'a list of places such as [["0 mm", "0 mm"], …]'
    return _list(value, at, wanted, None, lambda entry, place: _point(entry, spec, place))


def _list(
    value: Toml, at: Place, wanted: str, length: int | None, read: Callable[[Toml, Place], object]
) -> tuple[object, ...] | _Unreadable:
    if not isinstance(value, list):
        at.fault(wanted, shown_value(value), "Put it in square brackets.")
        return UNREADABLE
    if length is not None and len(value) != length:
        at.fault(f"{length} entries", f"{len(value)}")
        return UNREADABLE
    values = tuple(read(entry, at.inner(number)) for number, entry in enumerate(value))
    return UNREADABLE if UNREADABLE in values else values


def _count(value: Toml, spec: FieldSpec, at: Place) -> int | _Unreadable:
    if isinstance(value, bool) or not isinstance(value, int):
        at.fault("a whole number", shown_value(value), _whole_hint(value))
        return UNREADABLE
    if abs(value) > _MAX_INTEGER:
        at.fault("a whole number of sensible size", shown_value(value))
        return UNREADABLE
    broken = broken_limit(value, spec)
    if broken:
        at.fault(broken, shown_value(value))
        return UNREADABLE
    return value


def _mode(value: Toml, spec: FieldSpec, at: Place) -> int | str | _Unreadable:
    if not isinstance(value, str):
        if isinstance(value, int) and not isinstance(value, bool):
            return _count(value, spec, at)
        at.fault("a mode: its number, or its label in quotes", shown_value(value))
        return UNREADABLE
    if not value.strip() or value.strip().isdecimal():
        hint = f"Write {int(value)} without quotes." if value.strip() else ""
        at.fault("the label of a mode in quotes, or its number", shown_value(value), hint)
        return UNREADABLE
    return value


def _modes(value: Toml, spec: FieldSpec, at: Place) -> tuple[object, ...] | _Unreadable:
    wanted = 'a list of modes such as [1, "bending 2"]'
    return _list(value, at, wanted, None, lambda entry, place: _mode(entry, spec, place))


def _whole_hint(value: Toml) -> str:
    try:
        number = float(value) if isinstance(value, str | float) else math.nan
    except ValueError:
        return ""
    return f"Write {number:.0f}." if number.is_integer() and abs(number) < _MAX_INTEGER else ""


def _flag(value: Toml, spec: FieldSpec, at: Place) -> bool | _Unreadable:
    del spec
    if isinstance(value, bool):
        return value
    at.fault("true or false", shown_value(value), "Write it without quotes.")
    return UNREADABLE


def _text(value: Toml, spec: FieldSpec, at: Place) -> str | _Unreadable:
    del spec
    if isinstance(value, str):
        return value
    at.fault("text in quotes", shown_value(value))
    return UNREADABLE


def _texts(value: Toml, spec: FieldSpec, at: Place) -> tuple[object, ...] | _Unreadable:
    wanted = 'a list of texts such as ["…", "…"]'
    return _list(value, at, wanted, None, lambda entry, place: _text(entry, spec, place))


def _choice(value: Toml, spec: FieldSpec, at: Place) -> str | _Unreadable:
    if isinstance(value, str) and value in spec.choices:
        return value
    hint = did_you_mean(value, spec.choices) if isinstance(value, str) else ""
    at.fault(listed(spec.choices), shown_value(value), hint)
    return UNREADABLE


_READERS: dict[str, Callable[[Toml, FieldSpec, Place], object]] = {
    "quantity": _quantity,
    "quantities": _quantities,
    "count": _count,
    "flag": _flag,
    "text": _text,
    "texts": _texts,
    "choice": _choice,
    "mode": _mode,
    "modes": _modes,
    "point": _point,
    "points": _points,
}
