"""Scales: degrees, their names and their frequencies.

Degrees are counted from 1; the count goes on through every period of the scale, and 0 and negative
degrees lie below the first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Protocol

from modewright.parameters import Fault, count, quantity, section, text, texts
from modewright.pitch import (
    NoteNameError,
    cents_between,
    freq_hz_of_note,
    nearest_note,
    note_number,
)
from modewright.tune.intervals import IntervalError, parse_ratio

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["EqualSteps", "ListedIntervals", "Scale", "ScaleNote", "Steps"]

_PERIOD_DOC = 'Interval after which the scale repeats, such as "octave" or "3 : 1".'
# A tempered note may bear the usual name if it lies as near to it as nobody hears.
_SAME_CENTS = 0.01
_LONGEST_STEP = 2000


class Steps(Protocol):
    """A section of the design file that says how the degrees of a scale lie."""

    kind: ClassVar[str]

    @property
    def size(self) -> int:
        """Degrees in one period."""
        ...

    def ratio(self, degree: int) -> float:
        """Frequency of a degree over that of degree 1."""
        ...

    def own_name(self, degree: int) -> str:
        """Name that the scale itself gives; empty if it gives none."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class EqualSteps:
    """Every step the same: a period cut into equal parts."""

    kind: ClassVar[str] = "equal steps"

    divisions: int = count(
        "How many steps make a period.", default=12, at_least=1, at_most=_LONGEST_STEP
    )
    period: str = text(_PERIOD_DOC, default="octave")

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong with the period."""
        yield from _interval_faults("period", self.period)

    @property
    def size(self) -> int:
        """See `Steps`."""
        return self.divisions

    def ratio(self, degree: int) -> float:
        """See `Steps`."""
        return parse_ratio(self.period) ** ((degree - 1) / self.divisions)

    def own_name(self, degree: int) -> str:
        """See `Steps`."""
        del degree
        return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedIntervals:
    """Each degree at an interval of its own above the first."""

    kind: ClassVar[str] = "listed intervals"

    intervals: tuple[str, ...] = texts(
        'Degrees of one period above the first, in rising order, such as ["1", "9/8", "5/4", '
        '"702 cents"]; the period itself is left out.'
    )
    period: str = text(_PERIOD_DOC, default="octave")
    names: tuple[str, ...] = texts(
        "A name for each degree of a period; those further up get an apostrophe for each period, "
        "those below a comma. Numbers if left out.",
        default=(),
    )

    def problems(self) -> Iterable[Fault]:
        """Return intervals that cannot be read or do not rise, and names too many or too few."""
        faults = [
            *_interval_faults("period", self.period),
            *(
                fault
                for number, interval in enumerate(self.intervals, 1)
                for fault in _interval_faults(f"intervals[{number}]", interval)
            ),
        ]
        yield from faults
        if not faults:
            yield from self._order_problems()
        if self.names and len(self.names) != len(self.intervals):
            yield Fault(
                key="names",
                expected=f"{len(self.intervals)} names, one for each degree",
                got=str(len(self.names)),
            )
        for number, name in enumerate(self.names, 1):
            if not name.strip() or name in self.names[: number - 1] or name.strip().isdigit():
                yield Fault(
                    key=f"names[{number}]",
                    expected="a name of its own that is no number",
                    got=f'"{name}"',
                )

    def _order_problems(self) -> Iterable[Fault]:
        if not self.intervals:
            yield Fault(key="intervals", expected="at least one degree", got="none")
            return
        ratios = [*(parse_ratio(interval) for interval in self.intervals), parse_ratio(self.period)]
        if ratios[0] != 1.0:
            yield Fault(
                key="intervals[1]",
                expected='"1", since intervals count from the first degree',
                got=f'"{self.intervals[0]}"',
            )
        written = [*self.intervals, self.period]
        for number in range(1, len(ratios)):
            if ratios[number] <= ratios[number - 1]:
                is_period = number == len(self.intervals)
                yield Fault(
                    key="period" if is_period else f"intervals[{number + 1}]",
                    expected=f'more than "{written[number - 1]}", the degree before',
                    got=f'"{written[number]}"',
                )

    @property
    def size(self) -> int:
        """See `Steps`."""
        return len(self.intervals)

    def ratio(self, degree: int) -> float:
        """See `Steps`."""
        period, place = divmod(degree - 1, self.size)
        return parse_ratio(self.intervals[place]) * parse_ratio(self.period) ** period

    def own_name(self, degree: int) -> str:
        """See `Steps`."""
        if not self.names:
            return ""
        period, place = divmod(degree - 1, self.size)
        return self.names[place] + ("'" * period if period > 0 else "," * -period)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleNote:
    """A note of a scale.

    Parameters
    ----------
    degree : int
    name : str
        As the scale calls it.
    freq_hz : float
        [Hz]
    cents : float
        Above degree 1. [cents]
    """

    degree: int
    name: str
    freq_hz: float
    cents: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """The ``[scale]`` section: where the degrees lie, and one that ties them to a pitch."""

    steps: EqualSteps | ListedIntervals = section(
        "How the degrees lie.", EqualSteps, ListedIntervals, default=EqualSteps()
    )
    degree: int = count("Degree that is tied to a pitch.", default=1, at_least=1)
    note: str = text(
        'Equal-tempered note that this degree sounds, such as "G3"; empty for freq.', default=""
    )
    freq_hz: float | None = quantity(
        "Hz", "Frequency of this degree, if no note is given.", default=None, above=0.0,
        plausible=(10.0, 10e3),
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a pitch that is missing, given twice or no note."""
        if bool(self.note) == (self.freq_hz is not None):
            yield Fault(
                key="note",
                expected="a note or a freq",
                got="both" if self.note else "neither",
            )
        elif self.note:
            try:
                note_number(self.note)
            except NoteNameError as error:
                yield Fault(
                    key="note", expected=error.expected, got=f'"{error.got}"', hint=error.hint
                )

    def note_of_degree(self, degree: int, a4_hz: float) -> ScaleNote:
        """A degree with its name and frequency.

        Parameters
        ----------
        degree : int
        a4_hz : float
            Tuning reference for a tempered note. [Hz]

        Returns
        -------
        ScaleNote
            Named by the scale; else by the usual note if it lies there; else by its number.

        References
        ----------
        Equal temperament: ISO 16:1975 with 2^(1/12) a step.
        """
        tied_hz = self.freq_hz if self.freq_hz is not None else freq_hz_of_note(self.note, a4_hz)
        freq_hz = tied_hz * self.steps.ratio(degree) / self.steps.ratio(self.degree)
        name = self.steps.own_name(degree)
        if not name:
            usual = nearest_note(freq_hz, a4_hz)
            name = usual.name if abs(usual.cents) < _SAME_CENTS else str(degree)
        return ScaleNote(
            degree=degree,
            name=name,
            freq_hz=freq_hz,
            cents=cents_between(self.steps.ratio(degree), 1.0),
        )

    def find_degree(self, wanted: str, a4_hz: float) -> int | None:
        """Degree of a number or a name; None if the scale has none of that name.

        Parameters
        ----------
        wanted : str
            Such as ``5``, or a name from `note_of_degree`.
        a4_hz : float
            [Hz]
        """
        word = wanted.strip()
        if re.fullmatch(r"-?[0-9]+", word):
            return int(word)
        around = range(1 - 6 * self.steps.size, 1 + 8 * self.steps.size)
        for degree in around:
            if self.note_of_degree(degree, a4_hz).name == word:
                return degree
        try:
            number = note_number(word)
        except NoteNameError:
            return None
        for degree in around:
            usual = nearest_note(self.note_of_degree(degree, a4_hz).freq_hz, a4_hz)
            if note_number(usual.name) == number and abs(usual.cents) < _SAME_CENTS:
                return degree
        return None


def _interval_faults(key: str, interval: str) -> Iterable[Fault]:
    try:
        ratio = parse_ratio(interval)
    except IntervalError as error:
        yield Fault(key=key, expected=error.expected, got=f'"{error.got}"', hint=error.hint)
        return
    if key == "period" and ratio <= 1.0:
        yield Fault(key=key, expected="an interval upwards", got=f'"{interval}"')
