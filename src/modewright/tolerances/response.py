"""Figures of a piece as a sum of a parabola for each tolerance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Response", "trimmed", "wilson_interval"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Response:
    """Figures over deviations; what two tolerances do together beyond their sum is left out.

    Parameters
    ----------
    slope, curve : float array, shape (tolerances, figures)
        Per share of the limit, and per its square.
    """

    slope: NDArray[np.float64]
    curve: NDArray[np.float64]

    def changes(self, shares: NDArray[np.float64]) -> NDArray[np.float64]:
        """Change of every figure, (pieces, figures), at shares of the limits."""
        return shares @ self.slope + shares**2 @ self.curve


def trimmed(
    changes: NDArray[np.float64],
    trim: Response,
    missed: NDArray[np.float64] | float = 0.0,
    pitch: int = 0,
    *,
    reach: tuple[float, float] = (-np.inf, np.inf),
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Change a number until one figure is back where it should be.

    Parameters
    ----------
    changes : float array, shape (pieces, figures)
    trim : Response
        Of the one number.
    missed : float array, shape (pieces,), or float
        By how much the trimming leaves that figure off.
    pitch : int
        Which figure.
    reach : tuple of float
        Least and most that the number may be changed by, in its steps.

    Returns
    -------
    float array, shape (pieces, figures)
        What is left; not a number for a piece that nothing within reach brings there.
    float array, shape (pieces,)
        By how much the number was changed, in its steps; not a number likewise.
    """
    slope, curve = float(trim.slope[0, pitch]), float(trim.curve[0, pitch])
    miss = changes[:, pitch] - missed
    # The root next to zero, in the form that does not cancel.
    with np.errstate(invalid="ignore", divide="ignore"):
        root = np.sqrt(slope**2 - 4 * curve * miss)
        moved = -2 * miss / (slope + np.copysign(root, slope))
    moved = np.where((moved >= reach[0]) & (moved <= reach[1]), moved, np.nan)
    return changes + trim.changes(moved[:, None]), moved


def wilson_interval(share: float, pieces: float, z: float = 1.96) -> tuple[float, float]:
    """Range in which a share lies with 95 %, E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209."""
    middle = (share + z**2 / (2 * pieces)) / (1 + z**2 / pieces)
    half = z * np.sqrt(share * (1 - share) / pieces + z**2 / (4 * pieces**2)) / (1 + z**2 / pieces)
    return max(0.0, float(middle - half)), min(1.0, float(middle + half))
