"""How many pieces keep to the limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.tolerances.response import wilson_interval
from modewright.tolerances.settings import MarginLimit, PitchLimit, RatioLimit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.tolerances.settings import Limit

__all__ = ["Yield", "yield_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Yield:
    """Shares of pieces.

    Parameters
    ----------
    share : float
        Within all limits.
    interval : tuple of (float, float)
        Where that share lies with 95 %, as far as the number of pieces goes.
    by_limit : tuple of float
        Within each limit alone.
    """

    share: float
    interval: tuple[float, float]
    by_limit: tuple[float, ...]


def yield_of(
    limits: Sequence[Limit],
    changes: NDArray[np.float64],
    margins: NDArray[np.float64],
    modes: int,
) -> Yield:
    """Judge pieces.

    Parameters
    ----------
    limits : sequence of Limit
    changes : float array, shape (pieces, figures)
        Cents of the modes, dB of their sensitivity, margins; against the design.
    margins : float array, shape (3,)
        Of the design: gain, phase, delay.
    modes : int

    Returns
    -------
    Yield
        A figure that a piece does not have keeps no limit.
    """
    within = [_within(limit, changes, margins, modes) for limit in limits]
    every = np.all([np.ones(len(changes), dtype=bool), *within], axis=0)
    return Yield(
        share=float(every.mean()),
        interval=wilson_interval(int(every.sum()), len(every)),
        by_limit=tuple(float(some.mean()) for some in within),
    )


def _within(
    limit: Limit, changes: NDArray[np.float64], margins: NDArray[np.float64], modes: int
) -> NDArray[np.bool_]:
    if isinstance(limit, PitchLimit):
        return np.abs(changes[:, limit.mode - 1]) <= limit.within_cents
    if isinstance(limit, RatioLimit):
        apart = changes[:, limit.mode - 1] - changes[:, limit.above - 1]
        return np.abs(apart) <= limit.within_cents
    if isinstance(limit, MarginLimit):
        gain, phase = (margins[i] + changes[:, 2 * modes + i] for i in range(2))
        return (gain >= limit.least_gain_db) & (phase >= limit.least_phase_deg)
    return np.abs(changes[:, modes + limit.mode - 1]) <= limit.within_db
