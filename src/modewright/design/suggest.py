"""What the writer of a design file probably meant."""

from __future__ import annotations

import difflib
import math
import re
from typing import TYPE_CHECKING

from modewright.units import UnitError, format_quantity, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.parameters import FieldSpec

__all__ = [
    "did_you_mean",
    "implausibility_factor",
    "listed",
    "near_miss",
    "other_unit",
    "with_point",
]

_NUMBER_AND_UNIT = re.compile(
    r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S(?:.*\S)?)?\s*$"
)
_DECIMAL_COMMA = re.compile(r"^\s*[+-]?\d+,\d+(?:[eE][+-]?\d+)?(?:\s*[^\d\s,].*)?$")
_PREFIXES = ("n", "u", "m", "c", "", "k", "M", "G")
_SMALL = ("n", "u", "m", "c")
_LONGEST_WORD = 60


def near_miss(word: str, known: Iterable[str]) -> str:
    """Known word closest to a misspelt one; empty if none is close.

    Examples
    --------
    >>> near_miss("thicknes", ["width", "thickness"])
    'thickness'
    >>> near_miss("colour", ["width", "thickness"])
    ''
    """
    if len(word) > _LONGEST_WORD:
        return ""
    by_folded = {_folded(name): name for name in known}
    close = difflib.get_close_matches(_folded(word), list(by_folded), n=1, cutoff=0.6)
    return by_folded[close[0]] if close else ""


def _folded(word: str) -> str:
    return word.casefold().replace("-", " ").replace("_", " ").strip()


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Question to put behind a message; empty if no known word is close."""
    close = near_miss(word, known)
    return f'Did you mean "{close}"?' if close else ""


def listed(words: Iterable[str]) -> str:
    """Write words as ``"a", "b" or "c"``.

    Examples
    --------
    >>> listed(["free", "held", "damped"])
    '"free", "held" or "damped"'
    """
    quoted = [f'"{word}"' for word in words]
    if not quoted:
        return "nothing"
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def implausibility_factor(value: float, plausible: tuple[float, float]) -> float:
    """How many times a value lies outside a range; 1 inside, infinite on the wrong side of zero.

    Parameters
    ----------
    value : float
        In the unit of the range.
    plausible : tuple of two floats
        Lowest and highest plausible value.

    Examples
    --------
    >>> implausibility_factor(1.0, (1e-4, 1e-2))
    100.0
    """
    low, high = plausible
    if low <= value <= high:
        return 1.0
    bound = low if value < low else high
    if value == 0.0:
        return 1.0 + math.ulp(1.0)
    if bound == 0.0:
        return math.inf
    ratio = value / bound if abs(value) > abs(bound) else bound / value
    return ratio if ratio > 0.0 else math.inf


def other_unit(written: str, spec: FieldSpec) -> str:
    """Same number with the unit that makes it plausible, such as ``1.2 mm`` for ``1.2 m``.

    Parameters
    ----------
    written : str
        Quantity as it stands in the file, or a bare number.
    spec : FieldSpec
        Description of the field; without a plausible range there is no suggestion.

    Returns
    -------
    str
        Empty if no prefix makes the number plausible.
    """
    if spec.plausible is None:
        return ""
    found = _NUMBER_AND_UNIT.match(written)
    if found is None:
        return ""
    number, unit = found.group(1), found.group(2) or ""
    stems = {spec.unit, unit.lstrip("".join(_PREFIXES)) if len(unit) > 1 else unit, unit[1:]}
    units = [spec.show, *(prefix + stem for stem in sorted(stems) if stem for prefix in _PREFIXES)]
    # Nobody of the trade measures in megametres, or in hundredths of anything but a metre.
    units = [
        candidate
        for candidate in units
        if candidate not in ("Mm", "Gm")
        and (candidate in ("cm", spec.show) or candidate[:1] != "c")
    ]
    # Nor says a thousand of a small unit, but for lengths, which drawings give in millimetres.
    if spec.unit != "m" and abs(float(number)) >= 1000:
        usual = (spec.unit, spec.show)
        units = [unit for unit in units if unit in usual or unit[:1] not in _SMALL]
    for candidate in units:
        text = f"{number} {candidate}"
        if candidate != unit and _is_plausible(text, spec, spec.plausible):
            return text
    return ""


def with_point(written: str) -> str:
    """Same quantity with a decimal point where it has a comma; empty if that is not its fault.

    Examples
    --------
    >>> with_point("1,5 mm"), with_point("1.5 mm")
    ('1.5 mm', '')
    """
    return written.strip().replace(",", ".") if _DECIMAL_COMMA.match(written) else ""


def _is_plausible(text: str, spec: FieldSpec, plausible: tuple[float, float]) -> bool:
    try:
        value = parse_quantity(text, spec.unit)
    except UnitError:
        return False
    return plausible[0] <= value <= plausible[1]


def range_text(low: float, high: float, spec: FieldSpec) -> str:
    """Write a range in the unit in which the field is shown."""
    first = format_quantity(low, spec.unit, show=spec.show, digits=6)
    return f"{first} to {format_quantity(high, spec.unit, show=spec.show, digits=6)}"
