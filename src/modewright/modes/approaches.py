"""Where two followed modes come near: they cross, or veer away with exchanged shapes.

Modes that do not act on each other cross. Any coupling makes them veer instead: the frequencies
keep apart, and each mode takes on the shape of the other (Leissa, J. Appl. Math. Phys. (ZAMP) 25
(1974) 99; from memory).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

__all__ = ["Approach", "find_approaches"]

# Farther apart, two modes of the same body have other neighbours to deal with.
_NEAR_CENTS = 300.0
# Away from a veering where the gap is so many times the least one.
_AWAY = 2.5
_EXCHANGED = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Approach:
    """A place at which two modes come near.

    Parameters
    ----------
    modes : tuple of two ints
        Places of the modes among those followed, from 0.
    kind : {"crossing", "veering"}
    value : float
        Value of the parameter.
    freq_hz : float
        Mean of both frequencies there. [Hz]
    gap_cents : float
        Distance there; 0 for a crossing. [cents]
    exchange : float
        Share of its shape that each takes over from the other on the way through, 0 to 1.
    """

    modes: tuple[int, int]
    kind: Literal["crossing", "veering"]
    value: float
    freq_hz: float
    gap_cents: float
    exchange: float


def find_approaches(
    values: NDArray[np.float64], freq_hz: NDArray[np.float64], traces: NDArray[np.float64]
) -> tuple[Approach, ...]:
    """Find crossings and veerings among followed modes.

    Parameters
    ----------
    values : float array, shape (steps,)
        Of the parameter, in order.
    freq_hz : float array, shape (steps, modes)
        [Hz]
    traces : float array, shape (steps, places, modes)
        Shapes at the same places of the metal in each step, as vectors of unit length.

    Returns
    -------
    tuple of Approach
        In the order of the values.
    """
    found: list[Approach] = []
    for pair in itertools.combinations(range(freq_hz.shape[1]), 2):
        gap = 1200 * np.log2(freq_hz[:, pair[1]] / freq_hz[:, pair[0]])
        found += _crossings(pair, values, freq_hz, gap)
        found += _veerings(pair, values, freq_hz, gap, traces)
    rising = 1.0 if values[-1] > values[0] else -1.0
    return tuple(sorted(found, key=lambda one: rising * one.value))


def _crossings(
    pair: tuple[int, int],
    values: NDArray[np.float64],
    freq_hz: NDArray[np.float64],
    gap: NDArray[np.float64],
) -> Iterator[Approach]:
    for k in np.nonzero(np.sign(gap[:-1]) * np.sign(gap[1:]) < 0)[0]:
        share = gap[k] / (gap[k] - gap[k + 1])
        place = freq_hz[k, pair[0]] + share * (freq_hz[k + 1, pair[0]] - freq_hz[k, pair[0]])
        yield Approach(
            modes=pair,
            kind="crossing",
            value=float(values[k] + share * (values[k + 1] - values[k])),
            freq_hz=float(place),
            gap_cents=0.0,
            exchange=0.0,
        )


def _veerings(
    pair: tuple[int, int],
    values: NDArray[np.float64],
    freq_hz: NDArray[np.float64],
    gap: NDArray[np.float64],
    traces: NDArray[np.float64],
) -> Iterator[Approach]:
    size = np.abs(gap)
    least = (size[1:-1] <= size[:-2]) & (size[1:-1] < size[2:]) & (size[1:-1] < _NEAR_CENTS)
    for k in np.nonzero(least)[0] + 1:
        first, last = _stretch(gap, int(k))
        exchange = _exchange(traces, pair, (first, int(k), last))
        if exchange > _EXCHANGED:
            yield Approach(
                modes=pair,
                kind="veering",
                value=float(values[k]),
                freq_hz=float(freq_hz[k, list(pair)].mean()),
                gap_cents=float(size[k]),
                exchange=exchange,
            )


def _stretch(gap: NDArray[np.float64], least: int) -> tuple[int, int]:
    """First and last step of a veering: on until the gap is wide, or the modes cross."""
    wide = (np.abs(gap) > _AWAY * np.abs(gap[least])) | (np.sign(gap) != np.sign(gap[least]))
    before, after = np.nonzero(wide[:least])[0], np.nonzero(wide[least:])[0]
    first = int(before[-1]) if len(before) else 0
    return first, least + int(after[0]) if len(after) else len(gap) - 1


def _exchange(
    traces: NDArray[np.float64], pair: tuple[int, int], stretch: tuple[int, int, int]
) -> float:
    """Largest exchange from before to behind: farther out, other modes may have their part."""
    first, least, last = stretch
    one, other = pair
    before, behind = traces[first : least + 1], traces[least : last + 1]
    there = (before[:, :, one] @ behind[:, :, other].T) ** 2
    back = (before[:, :, other] @ behind[:, :, one].T) ** 2
    return float(np.minimum(there, back).max())
