"""Strings with units at the border, SI floats inside.

The only module that knows the units library, whose types are loose: hence the two switches below.
``parse_quantity("1.2 mm", "m")`` gives 0.0012 and
``format_quantity(0.0012, "m", show="mm")`` gives ``"1.2 mm"``.
"""

# pyright: reportUnknownMemberType=false, reportUnknownArgumentType=false

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

__all__ = ["UnitError", "field_suffix", "format_quantity", "parse_quantity"]

_NUMBER = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$", re.DOTALL)

# The units library evaluates what it is given as an expression; only plain products, quotients and
# small powers of names may reach it.
_NAME = r"[A-Za-zµμΩ]+(?:(?:\*\*|\^)-?\d(?:\.\d)?)?"
_UNIT = re.compile(rf"^(?:1 ?/ ?)?{_NAME}(?: ?[*/·] ?{_NAME})*$")

_MAX_LENGTH = 80
_PLAIN_BELOW = 1e6
# What the units library raises, besides its own errors, for words such as "nan" and "dBm".
_STUMBLES = (AttributeError, ValueError, AssertionError, ArithmeticError)

# Ratios that the trade writes with a sign of their own; they carry no dimension.
_RATIOS = {
    "1": {"": 1.0, "%": 1e-2, "ppm": 1e-6},
    "dB": {"dB": 1.0},
    "cents": {"cents": 1.0, "cent": 1.0},
}


class UnitError(ValueError):
    """A string is not a quantity of the expected kind.

    Parameters
    ----------
    expected : str
        What would have been right.
    hint : str
        What to write instead; may be empty.
    """

    def __init__(self, expected: str, hint: str = "") -> None:
        super().__init__(f"expected {expected}. {hint}".strip())
        self.expected = expected
        self.hint = hint


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    return pint.UnitRegistry()


def _spelling(unit: str) -> str:
    return (
        unit.replace("√Hz", "Hz**0.5")
        .replace("rtHz", "Hz**0.5")
        .replace("°C", "degC")
        .replace("·", "*")
    )


def parse_quantity(text: str, unit: str) -> float:
    """Read a number with its unit.

    Parameters
    ----------
    text : str
        Such as ``"1.2 mm"``, ``"20 degC"``, ``"3 nV/rtHz"``, ``"-6 dB"``, ``"2 %"``.
    unit : str
        The SI unit of the result; ``"1"`` for a ratio, ``"dB"``, ``"cents"`` and ``"deg"`` as such.

    Returns
    -------
    float
        Finite value in `unit`.

    Raises
    ------
    UnitError
        If there is no number, no unit, an unknown unit, or a unit of another dimension.

    Examples
    --------
    >>> parse_quantity("1.2 mm", "m")
    0.0012
    >>> parse_quantity("20 degC", "K")
    293.15
    """
    # The units library recurses once for every factor.
    found = _NUMBER.match(text) if len(text) <= _MAX_LENGTH else None
    expected = f"a quantity such as {_example(unit)}"
    if found is None:
        raise UnitError(expected, "Write a number followed by its unit.")
    number, written = float(found.group(1)), found.group(2)
    if not math.isfinite(number):
        raise UnitError(expected, "The number must be finite.")
    if unit in _RATIOS:
        return _parse_ratio(number, written, unit, expected)
    if not written:
        raise UnitError(expected, f'Add the unit, such as "{found.group(1)} {_shown(unit)}".')
    return _convert(number, written, unit, expected)


def _parse_ratio(number: float, written: str, unit: str, expected: str) -> float:
    factors = _RATIOS[unit]
    if written not in factors:
        raise UnitError(expected, f'"{written}" is not a unit that fits here.')
    return float(f"{number * factors[written]:.15g}")


def _convert(number: float, written: str, unit: str, expected: str) -> float:
    import pint

    registry = _registry()
    spelling = _spelling(written)
    if not _UNIT.match(spelling):
        raise UnitError(expected, f'"{written}" is not a unit.')
    try:
        parsed = registry.Unit(spelling)
    except (pint.errors.PintError, *_STUMBLES) as error:
        raise UnitError(expected, f'"{written}" is not a unit.{_case_hint(written)}') from error
    try:
        value = float(registry.Quantity(number, parsed).to(_spelling(unit)).magnitude)
    except (pint.errors.PintError, *_STUMBLES) as error:
        raise UnitError(expected, f'"{written}" is not a unit of this kind.') from error
    if not math.isfinite(value):
        raise UnitError(expected, "The number must be finite.")
    # One round-off ulp from the conversion factor would show in every printed value.
    return float(f"{value:.15g}")


def _case_hint(written: str) -> str:
    known = {
        "khz": "kHz",
        "hz": "Hz",
        "mhz": "MHz",
        "gpa": "GPa",
        "mpa": "MPa",
        "mn": "mN",
        "v": "V",
        "a": "A",
        "ma": "mA",
        "k": "K",
        "pf": "pF",
        "nf": "nF",
        "mh": "mH",
        "MM": "mm",
    }
    right = known.get(written) or known.get(written.lower())
    return f' Did you mean "{right}"?' if right else ""


_SHOWN = {
    "m": "mm",
    "Pa": "GPa",
    "K": "degC",
    "s": "ms",
    "F": "pF",
    "H": "mH",
    "N": "mN",
    "ohm": "ohm",
    "1": "%",
}
_EXAMPLES = {
    "mm": "1.2 mm",
    "GPa": "193 GPa",
    "degC": "20 degC",
    "ms": "1 ms",
    "pF": "10 pF",
    "mH": "5 mH",
    "mN": "20 mN",
    "ohm": "100 ohm",
    "%": "5 %",
    "Hz": "440 Hz",
    "V": "100 V",
    "kg": "0.5 g",
    "deg": "30 deg",
    "dB": "-12 dB",
    "cents": "3 cents",
}


def _shown(unit: str) -> str:
    return _SHOWN.get(unit, unit)


def _example(unit: str) -> str:
    shown = _shown(unit)
    return f'"{_EXAMPLES.get(shown, "1 " + shown)}"'


def format_quantity(value: float, unit: str, *, show: str = "", digits: int = 12) -> str:
    """Write a value with its unit, readable by `parse_quantity`.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str
        SI unit of `value`, as for `parse_quantity`.
    show : str
        Unit to write; `unit` itself if empty.
    digits : int
        Significant digits.

    Returns
    -------
    str

    Examples
    --------
    >>> format_quantity(0.0012, "m", show="mm")
    '1.2 mm'
    >>> format_quantity(442.0, "Hz", digits=2)
    '440 Hz'
    """
    shown = show or unit
    if unit in _RATIOS:
        scaled = value / _RATIOS[unit]["" if shown == "1" else shown]
        text = _plain(scaled, digits)
        return f"{text} {shown}" if shown != "1" else text
    registry = _registry()
    scaled = float(registry.Quantity(value, _spelling(unit)).to(_spelling(shown)).magnitude)
    return f"{_plain(scaled, digits)} {shown}"


def _plain(value: float, digits: int) -> str:
    """Rounded to some digits; whole numbers of the trade, such as 440, without a power of ten."""
    text = f"{value:.{digits}g}"
    return f"{float(text):.0f}" if "e+" in text and abs(value) < _PLAIN_BELOW else text


def field_suffix(unit: str) -> str:
    """Suffix that a name carries for this unit; empty for a ratio.

    Examples
    --------
    >>> field_suffix("m"), field_suffix("N/A"), field_suffix("N/m**3"), field_suffix("V/rtHz")
    ('_m', '_n_per_a', '_n_per_m3', '_v_per_rthz')
    >>> field_suffix("1/K")
    '_per_k'
    """
    if unit == "1":
        return ""
    name = unit.replace("**", "").replace("/", "_per_").replace("*", "_").replace(" ", "")
    return "_" + name.removeprefix("1_").lower()
