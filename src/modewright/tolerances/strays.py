"""Figures that parabolas miss on solved pieces by more than tolerances spread them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Stray", "strays"]

# A parabola that is of use misses a piece by a fraction of what it tells.
_MOST_SIGMA = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stray:
    """A figure of which a solved piece is far from where it was expected.

    Parameters
    ----------
    figure : int
        Its place among the figures.
    error : float
        Largest miss, in the unit of the figure.
    sigma : float
        Standard deviation of the figure over all pieces, in the same unit.
    """

    figure: int
    error: float
    sigma: float


def strays(
    changes: NDArray[np.float64], errors: NDArray[np.float64], least: NDArray[np.float64]
) -> tuple[Stray, ...]:
    """Find figures that are told with confidence and are not so.

    Parameters
    ----------
    changes : float array, shape (pieces, figures)
        As parabolas have them.
    errors : float array, shape (solved, figures)
        Parabolas less solver, not a number where there is no such figure.
    least : float array, shape (figures,)
        Misses that do not matter, however small the spread is.

    Returns
    -------
    tuple of Stray
        For each figure of which any solved piece is missed by more than three standard deviations.
    """
    if len(errors) == 0:
        return ()
    worst, sigma = np.abs(errors).max(axis=0), changes.std(axis=0)
    is_far = worst > np.maximum(_MOST_SIGMA * sigma, least)
    return tuple(
        Stray(figure=int(place), error=float(worst[place]), sigma=float(sigma[place]))
        for place in np.nonzero(is_far)[0]
    )
