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
        Where that share lies with 95 %, as far as the number of pieces goes; the less they differ
        within a batch, the fewer count.
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
    *,
    batch_size: int = 1,
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
    batch_size : int
        Pieces that follow each other and have something in common.

    Returns
    -------
    Yield
        A figure that a piece does not have keeps no limit.
    """
    within = [_within(limit, changes, margins, modes) for limit in limits]
    every = np.all([np.ones(len(changes), dtype=bool), *within], axis=0)
    return Yield(
        share=float(every.mean()),
        interval=wilson_interval(float(every.mean()), _independent(every, batch_size)),
        by_limit=tuple(float(some.mean()) for some in within),
    )


def _independent(every: NDArray[np.bool_], batch_size: int) -> float:
    """How many independent pieces would leave the share as uncertain as these batches do.

    Sampling of clusters: L. Kish, Survey Sampling, 1965, sec. 5.4, from memory. Where all batches
    agree nothing tells how alike their pieces are; then each counts as one.
    """
    pieces, share = len(every), float(every.mean())
    batches = -(-pieces // batch_size)
    if batches in (1, pieces):
        return batches
    splits = np.array_split(every, range(batch_size, pieces, batch_size))
    surplus = np.array([float(np.sum(some) - share * len(some)) for some in splits])
    variance = batches / (batches - 1) * float(surplus @ surplus) / pieces**2
    if variance == 0:
        return batches
    return min(max(share * (1 - share) / variance, batches), pieces)


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
