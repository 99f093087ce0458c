"""Targets and limits as sums of few logarithms, which is all that the search needs to know.

Every target asks that some frequencies, decays or sizes, as logarithms with signs, add up to a
number or do not fall below it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.pitch import cents_between, freq_hz_of_note
from modewright.tune.intervals import parse_ratio, parse_ratios
from modewright.tune.quantities import SIZES
from modewright.tune.step import Slopes, State
from modewright.tune.targets import Decay, Interval, KeepAway, Partials, Pitch, mode_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from modewright.tune.quantities import Quantities
    from modewright.tune.settings import TuneLimits, TuneSettings
    from modewright.tune.targets import ModeAddress, Target

__all__ = [
    "Demand",
    "Heading",
    "demands",
    "slopes_of",
    "state_of",
    "voiced_modes",
    "worst_cents",
]

# Limits are aimed at from just inside, so that what is found does not lie a hair beyond.
_INSET_CENTS = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """One equation, or one inequality, of the search.

    Parameters
    ----------
    what : str
        For the reader, such as ``bending 1 at G3``.
    is_limit : bool
        Whether the sum may exceed zero.
    terms : tuple of (int, float)
        Position among the stacked quantities, and weight.
    offset_cents : float
        Added to the sum. [cents]
    within_cents : float
        Tolerance. [cents]
    distance_cents : float
        Distance that a limit keeps between two modes, part of the offset; else 0. [cents]
    """

    what: str
    is_limit: bool
    terms: tuple[tuple[int, float], ...]
    offset_cents: float
    within_cents: float = 1.0
    distance_cents: float = 0.0

    def sum_cents(self, quantities: Quantities) -> float:
        """The sum: a miss that should be zero, or a room that should not be negative. [cents]"""
        values = quantities.stacked
        return self.offset_cents + sum(weight * float(values[i]) for i, weight in self.terms)

    def is_met(self, quantities: Quantities) -> bool:
        """Whether the sum is within its tolerance."""
        found = self.sum_cents(quantities)
        return found >= 0.0 if self.is_limit else abs(found) <= self.within_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What targets take from the ``[design]`` section.

    Parameters
    ----------
    note : str
        Note of the design; may be empty.
    a4_hz : float
        Tuning reference. [Hz]
    """

    note: str
    a4_hz: float


def voiced_modes(targets: Sequence[Target]) -> tuple[ModeAddress, ...]:
    """Modes whose pitch is wanted, each once, in the order of the targets."""
    voiced = [t for t in targets if isinstance(t, Pitch | Interval | Partials)]
    return tuple(dict.fromkeys(mode for target in voiced for mode in target.modes))


def demands(
    settings: TuneSettings,
    heading: Heading,
    places: Mapping[ModeAddress, int],
    labels: Sequence[str],
    quantities: Quantities,
) -> tuple[Demand, ...]:
    """Write targets and limits for the modes of one body.

    Parameters
    ----------
    settings : TuneSettings
    heading : Heading
    places : mapping from int or str to int
        Position of each mode that the targets name.
    labels : sequence of str
        Of all modes.
    quantities : Quantities
        Of that body: on which side a mode keeps away depends on where it is.

    Returns
    -------
    tuple of Demand
        In the order of the targets, limits last.
    """
    found: list[Demand] = []
    for target in settings.targets:
        match target:
            case Pitch():
                found.append(_pitch(target, heading, places))
            case Interval():
                found.append(_interval(target, places))
            case Partials():
                found += _partials(target, places)
            case Decay():
                found.append(_decay(target, places, quantities.mode_count))
            case KeepAway():
                found += _apart(target, settings.targets, places, labels, quantities)
    return (*found, *_limits(settings.limits, quantities.mode_count))


def worst_cents(wanted: Sequence[Demand], state: State) -> float:
    """Largest miss or overdraft of a state of these demands; 0 if there is none. [cents]"""
    within = [[d.within_cents for d in wanted if d.is_limit is limits] for limits in (False, True)]
    return max(
        float((np.abs(state.misses) * within[0]).max(initial=0.0)),
        float((-state.rooms * within[1]).max(initial=0.0)),
    )


def state_of(wanted: Sequence[Demand], quantities: Quantities) -> State:
    """Misses and rooms of a body, in tolerances."""
    sums = [(d.is_limit, d.sum_cents(quantities), d.within_cents) for d in wanted]
    return State(
        misses=np.array([total / within for is_limit, total, within in sums if not is_limit]),
        rooms=np.array(
            [(total - _INSET_CENTS) / within for is_limit, total, within in sums if is_limit]
        ),
    )


def slopes_of(wanted: Sequence[Demand], slopes: Quantities) -> Slopes:
    """Derivatives of misses and rooms from those of the quantities."""
    values = slopes.stacked
    rows = np.zeros((len(wanted), values.shape[1]))
    for row, demand in zip(rows, wanted, strict=True):
        for i, weight in demand.terms:
            row += weight / demand.within_cents * values[i]
    is_limit = np.array([demand.is_limit for demand in wanted], dtype=bool)
    return Slopes(misses=rows[~is_limit], rooms=rows[is_limit])


def _pitch(target: Pitch, heading: Heading, places: Mapping[ModeAddress, int]) -> Demand:
    note = target.note or ("" if target.freq_hz is not None else heading.note)
    wanted_hz = freq_hz_of_note(note, heading.a4_hz) if note else target.freq_hz
    if wanted_hz is None:
        raise ValueError(f"{mode_text(target.mode)}: expected a note or a frequency, got neither")
    offset = f" {target.offset_cents:+g} cents" if target.offset_cents else ""
    return Demand(
        what=f"{mode_text(target.mode)} at {note or f'{wanted_hz:g} Hz'}{offset}",
        is_limit=False,
        terms=((places[target.mode], 1.0),),
        offset_cents=-cents_between(wanted_hz, 1.0) - target.offset_cents,
        within_cents=target.within_cents,
    )


def _interval(target: Interval, places: Mapping[ModeAddress, int]) -> Demand:
    return Demand(
        what=f"{mode_text(target.mode)} above {mode_text(target.above)}: {target.interval}",
        is_limit=False,
        terms=((places[target.mode], 1.0), (places[target.above], -1.0)),
        offset_cents=-1200 * math.log2(parse_ratio(target.interval)),
        within_cents=target.within_cents,
    )


def _partials(target: Partials, places: Mapping[ModeAddress, int]) -> Iterator[Demand]:
    first = target.modes[0]
    for mode, ratio in zip(target.modes[1:], parse_ratios(target.ratios)[1:], strict=True):
        yield Demand(
            what=f"{mode_text(mode)} over {mode_text(first)}: {ratio:.5g}",
            is_limit=False,
            terms=((places[mode], 1.0), (places[first], -1.0)),
            offset_cents=-1200 * math.log2(ratio),
            within_cents=target.within_cents,
        )


def _decay(target: Decay, places: Mapping[ModeAddress, int], count: int) -> Demand:
    return Demand(
        what=f"{mode_text(target.mode)} rings {target.least_s:g} s or longer",
        is_limit=True,
        terms=((count + places[target.mode], 1.0),),
        offset_cents=-1200 * math.log2(target.least_s),
    )


def _apart(
    target: KeepAway,
    every: Sequence[Target],
    places: Mapping[ModeAddress, int],
    labels: Sequence[str],
    quantities: Quantities,
) -> Iterator[Demand]:
    voiced = voiced_modes(every)
    taken = {places[mode] for mode in voiced}
    words = target.unwanted or ("",)
    others = [i for i, label in enumerate(labels) if label.startswith(words) and i not in taken]
    for mode in target.wanted or voiced:
        for multiple in target.multiples:
            for other in others:
                if other != places[mode]:
                    yield _distance(target, mode, multiple, places[mode], other, labels, quantities)


def _distance(
    target: KeepAway,
    mode: ModeAddress,
    multiple: float,
    place: int,
    other: int,
    labels: Sequence[str],
    quantities: Quantities,
) -> Demand:
    freq = quantities.freq_cents
    multiple_cents = 1200 * math.log2(multiple)
    side = 1.0 if freq[other] - freq[place] - multiple_cents >= 0 else -1.0
    times = "" if multiple == 1.0 else f"{multiple:g} times "
    return Demand(
        what=f"{labels[other]} {target.distance_cents:g} cents from {times}{mode_text(mode)}",
        is_limit=True,
        terms=((other, side), (place, -side)),
        offset_cents=-side * multiple_cents - target.distance_cents,
        distance_cents=target.distance_cents,
    )


def _limits(limits: TuneLimits, count: int) -> Iterator[Demand]:
    bounds = (
        (limits.narrowest_metal_m, 1.0),
        (limits.narrowest_slot_m, 1.0),
        (limits.smallest_radius_m, 1.0),
        (limits.stock_length_m, -1.0),
        (limits.stock_width_m, -1.0),
    )
    for i, (bound_m, side) in enumerate(bounds):
        if bound_m is not None:
            words = "or more" if side > 0 else "or less"
            yield Demand(
                what=f"{SIZES[i]} {bound_m * 1e3:g} mm {words}",
                is_limit=True,
                terms=((2 * count + i, side),),
                offset_cents=-side * 1200 * math.log2(bound_m),
            )
