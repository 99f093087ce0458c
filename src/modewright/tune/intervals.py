"""Intervals and ratios as a maker writes them: ``1 : 4 : 10``, ``3/2``, ``octave + fifth``.

Names stand for the pure intervals of small whole numbers; ``tempered fifth`` stands for the seven
semitones of equal temperament.

References
----------
H. Helmholtz, On the Sensations of Tone (trans. A. J. Ellis, 1885), part II, the consonant
intervals and their ratios; from memory.
"""

from __future__ import annotations

import math
import re

from modewright.pitch import ratio_of_cents

__all__ = ["INTERVALS", "IntervalError", "parse_ratio", "parse_ratios"]

# Name: pure ratio, semitones of equal temperament.
INTERVALS: dict[str, tuple[float, int]] = {
    "unison": (1.0, 0),
    "minor second": (16 / 15, 1),
    "major second": (9 / 8, 2),
    "minor third": (6 / 5, 3),
    "major third": (5 / 4, 4),
    "fourth": (4 / 3, 5),
    "tritone": (45 / 32, 6),
    "fifth": (3 / 2, 7),
    "minor sixth": (8 / 5, 8),
    "major sixth": (5 / 3, 9),
    "minor seventh": (16 / 9, 10),
    "major seventh": (15 / 8, 11),
    "octave": (2.0, 12),
    "tenth": (5 / 2, 16),
    "twelfth": (3.0, 19),
    "seventeenth": (5.0, 28),
}

_COUNTS = {"one": 1, "two": 2, "double": 2, "three": 3, "triple": 3, "four": 4}
_NUMBER = r"\d+(?:\.\d+)?"
_RATIO = re.compile(rf"^({_NUMBER})(?: ?[:/] ?({_NUMBER}))?$")
_CENTS = re.compile(rf"^({_NUMBER}) ?cents?$")
_SIGNED = re.compile(r"([+−-]?)([^+−-]+)")
_LONGEST = 80
_MOST_CENTS = 20_000.0
_SHOWN = 40


class IntervalError(ValueError):
    """A text is not an interval or a chain of ratios.

    Parameters
    ----------
    got : str
        The text, or the part of it that cannot be read.
    expected : str
        What would have been right.
    """

    hint = f"Names: {', '.join(INTERVALS)}; put two or tempered before them."

    def __init__(self, got: str, expected: str) -> None:
        self.got = got if len(got) <= _SHOWN else f"{got[:_SHOWN]}…"
        self.expected = expected
        super().__init__(f'expected {expected}, got "{self.got}". {self.hint}')


def parse_ratio(text: str) -> float:
    """Frequency ratio of an interval.

    Parameters
    ----------
    text : str
        A sum and difference of terms, each a ratio (``3``, ``3/2``, ``3 : 2``), a number of cents
        (``702 cents``), or the name of an interval, also counted (``two octaves``) or tempered.

    Returns
    -------
    float
        Upper over lower frequency, > 0.

    Raises
    ------
    IntervalError
        If it cannot be read.

    Examples
    --------
    >>> parse_ratio("octave + fifth"), parse_ratio("3/2"), parse_ratio("two octaves - major third")
    (3.0, 1.5, 3.2)
    >>> round(parse_ratio("tempered fifth"), 5), round(parse_ratio("3 + 14 cents"), 5)
    (1.49831, 3.02436)
    """
    expected = 'an interval such as "octave + fifth", "3 : 1", "5/2" or "702 cents"'
    if not text.strip() or len(text) > _LONGEST:
        raise IntervalError(text, expected)
    ratio, end = 1.0, 0
    for found in _SIGNED.finditer(text):
        sign, term = found.groups()
        is_missing = found.start() != end or (end > 0) != bool(sign)
        factor = None if is_missing else _term(" ".join(term.casefold().split()))
        if factor is None:
            raise IntervalError(term.strip() or text, expected)
        ratio = ratio * factor if sign in {"", "+"} else ratio / factor
        end = found.end()
    if end != len(text) or not 0 < ratio < math.inf:
        raise IntervalError(text, expected)
    return ratio


def parse_ratios(text: str) -> tuple[float, ...]:
    """Chain of ratios to its first member.

    Parameters
    ----------
    text : str
        Numbers or intervals with colons between, such as ``1 : 4 : 10`` or
        ``unison : octave + fifth``.

    Returns
    -------
    tuple of float
        At least two, the first of them 1.

    Raises
    ------
    IntervalError
        If it cannot be read, or has one member only.

    Examples
    --------
    >>> parse_ratios("2 : 6 : 13")
    (1.0, 3.0, 6.5)
    """
    parts = text.split(":")
    if len(parts) < 2:
        raise IntervalError(text, 'ratios such as "1 : 4 : 10"')
    numbers = [parse_ratio(part) for part in parts]
    return tuple(number / numbers[0] for number in numbers)


def _term(term: str) -> float | None:
    """Ratio of one term, None if it cannot be read."""
    if found := _CENTS.match(term):
        cents = float(found.group(1))
        return ratio_of_cents(cents) if cents < _MOST_CENTS else None
    if found := _RATIO.match(term):
        upper, lower = float(found.group(1)), float(found.group(2) or 1)
        return upper / lower if upper > 0 and lower > 0 else None
    return _named(term)


def _named(term: str) -> float | None:
    words = term.split()
    count = 1
    if words and words[0] in _COUNTS:
        count = _COUNTS[words.pop(0)]
    is_tempered = bool(words) and words[0] == "tempered"
    if words and words[0] in {"tempered", "pure"}:
        words.pop(0)
    name = " ".join(words)
    known = INTERVALS.get(name) or INTERVALS.get(name.removesuffix("s"))
    if known is None:
        return None
    ratio, semitones = known
    return (2 ** (semitones / 12) if is_tempered else ratio) ** count
