"""Straight bends of a blank.

A bend is a band across the flat blank that becomes part of a cylinder; its width is the length of
the fibre that keeps its length, the bend allowance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely import Polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Bend", "default_k_factor"]


def default_k_factor(radius_ratio: float) -> float:
    """Place of the fibre that keeps its length, from the inner face, as a share of the thickness.

    Parameters
    ----------
    radius_ratio : float
        Inside radius over thickness, > 0.

    References
    ----------
    DIN 6935, bending of flat steel products: half of 0.65 + 0.5 lg(r/s), at most a half (from
    memory; meant for r/s of 0.65 to 5, and held at its value at 0.1 below that).
    """
    return 0.5 * min(0.65 + 0.5 * math.log10(max(radius_ratio, 0.1)), 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """One straight bend.

    Parameters
    ----------
    start_m, end_m : tuples of two floats
        Two places on the middle of the bend, on the flat blank. [m]
    angle_rad : float
        By which the metal beyond is turned, > 0 towards the upper face; not 0. [rad]
    inside_radius_m : float
        Radius of the inner face, > 0. [m]
    k_factor : float or None
        Place of the fibre that keeps its length, 0 to 1; None for `default_k_factor`.
    """

    start_m: tuple[float, float]
    end_m: tuple[float, float]
    angle_rad: float
    inside_radius_m: float
    k_factor: float | None = None

    @property
    def middle_m(self) -> NDArray[np.float64]:
        """Middle of the two places. [m]"""
        return (np.array(self.start_m) + np.array(self.end_m)) / 2

    @property
    def along(self) -> NDArray[np.float64]:
        """Unit vector along the bend."""
        run = np.array(self.end_m) - np.array(self.start_m)
        return run / np.hypot(*run)

    def neutral_share(self, thickness_m: float) -> float:
        """Place of the fibre that keeps its length, from the inner face, over the thickness."""
        if self.k_factor is not None:
            return self.k_factor
        return default_k_factor(self.inside_radius_m / thickness_m)

    def neutral_radius_m(self, thickness_m: float) -> float:
        """Radius of the fibre that keeps its length. [m]"""
        return self.inside_radius_m + self.neutral_share(thickness_m) * thickness_m

    def allowance_m(self, thickness_m: float) -> float:
        """Width of the band of flat blank that becomes the bend. [m]"""
        return abs(self.angle_rad) * self.neutral_radius_m(thickness_m)

    def band(self, thickness_m: float, reach_m: float) -> Polygon:
        """Band of the bend, far beyond its ends."""
        along = reach_m * self.along
        across = self.allowance_m(thickness_m) / 2 * np.array([-self.along[1], self.along[0]])
        middle = self.middle_m
        return Polygon(
            [middle + a * along + b * across for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        )
