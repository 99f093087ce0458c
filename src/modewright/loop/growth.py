"""Motions of the loop that grow: their frequencies and rates, whatever they belong to.

A pole near the unit circle turns the characteristic function by half a turn as the frequency passes
it, forwards if the pole decays and backwards if it grows (argument principle: Franklin, Powell &
Workman, Digital Control of Dynamic Systems, ch. 7). Where the function turns backwards fastest a
search begins that leaves the circle for the zero itself (Newton's method).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import optimize

from modewright.loop.transfer import loop_terms

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators
    from modewright.loop.transfer import LoopTerms

__all__ = ["ROUND_OFF_PER_S", "GrowingMotion", "growing_motions", "turns_along_circle"]

# Found poles carry errors of some 1e-12 per sample.
ROUND_OFF_PER_S = 1e-6

_LARGEST_TURN_RAD = 1.0
_REFINEMENTS = 40
_CANDIDATES = 12
_STEPS = 40
_SMALL_STEP = 1e-9
_AXIS_POINTS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowingMotion:
    """One motion that grows.

    Parameters
    ----------
    freq_hz : float
        At which the controller hears it. [Hz]
    rate_per_s : float
        Growth of its amplitude; not a number where the search did not settle. [1/s]
    """

    freq_hz: float
    rate_per_s: float


def turns_along_circle(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    gain: NDArray[np.float64],
    terms: LoopTerms,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Turns of the characteristic function from one frequency to the next.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    gain : float array, shape (regulated,)
        Linear gains of the regulators. [command/m]
    terms : LoopTerms
        Of the same loop, from 0 to half the rate on a grid that follows the resonances.

    Returns
    -------
    freq_hz : float array, shape (freqs,)
        The grid with as many frequencies added as the turns need. [Hz]
    turn_rad : float array, shape (freqs - 1,)
        [rad]
    """
    freq_hz, value = terms.freq_hz, terms.characteristic(gain)
    for _ in range(_REFINEMENTS):
        coarse = np.nonzero(np.abs(np.angle(value[1:] / value[:-1])) > _LARGEST_TURN_RAD)[0]
        if len(coarse) == 0:
            break
        between_hz = (freq_hz[coarse] + freq_hz[coarse + 1]) / 2
        added = loop_terms(plant, observer, regulators, between_hz).characteristic(gain)
        freq_hz = np.insert(freq_hz, coarse + 1, between_hz)
        value = np.insert(value, coarse + 1, added)
    # What still turns by a radian after so many halvings is a pole on the circle: it grows or not
    # by round-off.
    return freq_hz, np.asarray(np.angle(value[1:] / value[:-1]), dtype=np.float64)


def growing_motions(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    gain: NDArray[np.float64],
    terms: LoopTerms,
) -> tuple[GrowingMotion, ...]:
    """Find the motions that grow, the fastest first.

    Parameters
    ----------
    plant, observer, regulators, gain, terms
        As for `turns_along_circle`; the loop is one that grows.

    Returns
    -------
    tuple of GrowingMotion
        At least one: if no search settles outside the circle, where the function turns backwards
        most.
    """
    freq_hz, turn_rad = turns_along_circle(plant, observer, regulators, gain, terms)
    density = turn_rad / np.diff(freq_hz)
    is_lowest = np.r_[True, density[1:] < density[:-1]] & np.r_[density[:-1] <= density[1:], True]
    lowest = np.nonzero(is_lowest)[0]
    starts = lowest[np.argsort(density[lowest])[:_CANDIDATES]]
    centres_hz = (freq_hz[starts] + freq_hz[starts + 1]) / 2
    # An isolated zero at a distance d from the circle turns the function by 1/d per unit.
    widths_hz = 1 / np.maximum(-density[starts], 1 / plant.rate_hz)
    found = _on_real_axis(plant, observer, regulators, gain)
    for centre_hz, width_hz in zip(centres_hz, widths_hz, strict=True):
        motion = _settled(plant, observer, regulators, gain, centre_hz - 1j * width_hz)
        if motion is not None and not any(_same(motion, other) for other in found):
            found.append(motion)
    if not found:
        found = [GrowingMotion(freq_hz=float(centres_hz[0]), rate_per_s=float("nan"))]
    return tuple(sorted(found, key=lambda motion: -motion.rate_per_s))


def _settled(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    gain: NDArray[np.float64],
    start_hz: complex,
) -> GrowingMotion | None:
    """Zero outside the circle that Newton's method reaches from a complex frequency."""
    at_hz = start_hz
    for _ in range(_STEPS):
        near_hz = np.array([at_hz, at_hz * (1 + _SMALL_STEP)])
        terms = loop_terms(plant, observer, regulators, near_hz)
        value, beside = (complex(v) for v in terms.characteristic(gain))
        slope = (beside - value) / (at_hz * _SMALL_STEP)
        if slope == 0:
            return None
        step_hz = value / slope
        # A long step would leave the neighbourhood in which the zero was seen.
        step_hz *= min(1.0, max(-start_hz.imag, 1e-3) / abs(step_hz)) if step_hz else 1.0
        at_hz -= step_hz
        if not 0 <= at_hz.real <= plant.rate_hz / 2 or abs(at_hz.imag) > plant.rate_hz:
            return None
        if abs(step_hz) <= _SMALL_STEP * abs(at_hz):
            break
    else:
        return None
    rate_per_s = -2 * np.pi * at_hz.imag
    if rate_per_s < ROUND_OFF_PER_S:
        return None
    return GrowingMotion(freq_hz=float(at_hz.real), rate_per_s=float(rate_per_s))


def _on_real_axis(
    plant: Plant, observer: Observer, regulators: Regulators, gain: NDArray[np.float64]
) -> list[GrowingMotion]:
    """Zeros beyond 1 and -1, where the function is real and a change of its sign shows them."""
    found: list[GrowingMotion] = []
    rates_per_s = np.geomspace(ROUND_OFF_PER_S, np.pi * plant.rate_hz, _AXIS_POINTS)
    for base_hz in (0.0, plant.rate_hz / 2):

        def value(rate_per_s: float, base_hz: float = base_hz) -> float:
            at_hz = np.array([base_hz - 1j * rate_per_s / (2 * np.pi)])
            terms = loop_terms(plant, observer, regulators, at_hz)
            return float(terms.characteristic(gain)[0].real)

        signs = np.array([value(rate) > 0 for rate in rates_per_s])
        for index in np.nonzero(signs[1:] != signs[:-1])[0]:
            rate = optimize.brentq(value, rates_per_s[index], rates_per_s[index + 1], xtol=1e-6)
            found.append(GrowingMotion(freq_hz=base_hz, rate_per_s=float(rate)))
    return found


def _same(one: GrowingMotion, other: GrowingMotion) -> bool:
    apart = abs(one.freq_hz - other.freq_hz) + abs(one.rate_per_s - other.rate_per_s)
    return apart < 1e-4 * max(1.0, one.rate_per_s)
