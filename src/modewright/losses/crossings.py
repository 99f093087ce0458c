"""The shortest way across a sheet through each of its points."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray
    from shapely import Polygon

__all__ = ["Crossings", "crossings"]

_ANGLES_RAD = tuple(np.arange(12) * math.pi / 12)
_STEEP = 0.8  # sine of the angle between chord and edge


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Crossings:
    """Ways across, one for each point.

    Parameters
    ----------
    direction : float array, shape (points, 2)
        Unit vector across the sheet.
    behind_m, ahead_m : float arrays, shape (points,)
        From the point to the edge against that direction and along it. [m]
    """

    direction: NDArray[np.float64]
    behind_m: NDArray[np.float64]
    ahead_m: NDArray[np.float64]

    @property
    def width_m(self) -> NDArray[np.float64]:
        """From side to side. [m]"""
        return self.behind_m + self.ahead_m


def crossings(
    sheet: Polygon, points_m: NDArray[np.float64], angles_rad: Sequence[float] = _ANGLES_RAD
) -> Crossings:
    """Find the way across the sheet through each point.

    Parameters
    ----------
    sheet : Polygon
        [m]
    points_m : float array, shape (points, 2)
        Inside it. [m]
    angles_rad : sequence of float
        Directions to look in, counted from x; twelve if left out. [rad]

    Returns
    -------
    Crossings
        Shortest of those directions that cross the edge steeply at both ends, so that a short cut
        over a corner does not count; with twelve at most 1 % too long between parallel edges.
        Where no direction is steep, the shortest of all.
    """
    rings = [np.asarray(ring.coords) for ring in (sheet.exterior, *sheet.interiors)]
    start = np.concatenate([ring[:-1] for ring in rings])
    end = np.concatenate([ring[1:] for ring in rings])
    found = [_chord(angle, points_m, start, end) for angle in angles_rad]
    behind = np.array([chord[0] for chord in found])
    ahead = np.array([chord[1] for chord in found])
    is_steep = np.array([chord[2] for chord in found])
    length = behind + ahead
    # Where no direction is steep, all count.
    counted = np.where(is_steep | ~is_steep.any(axis=0), length, np.inf)
    best = counted.argmin(axis=0)
    rows = np.arange(len(points_m))
    angles = np.asarray(angles_rad)[best]
    return Crossings(
        direction=np.stack([np.cos(angles), np.sin(angles)], axis=-1),
        behind_m=behind[best, rows],
        ahead_m=ahead[best, rows],
    )


def _chord(
    angle_rad: float,
    points_m: NDArray[np.float64],
    start_m: NDArray[np.float64],
    end_m: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Distance to the nearest edges behind and ahead of each point, and if both are steep."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    edge_m = end_m - start_m
    turn = cos * edge_m[:, 1] - sin * edge_m[:, 0]
    # An edge is met if its ends lie on two sides of the line: a corner counts for one edge only.
    left_of = points_m @ (-sin, cos)
    is_hit = (start_m @ (-sin, cos) >= left_of[:, None]) != (
        end_m @ (-sin, cos) >= left_of[:, None]
    )
    offset = start_m[None, :, :] - points_m[:, None, :]
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (offset[..., 0] * edge_m[:, 1] - offset[..., 1] * edge_m[:, 0]) / turn
    is_ahead, along = _with_metal_beside(is_hit, is_hit & (along > 0), along)
    forward = np.where(is_ahead, along, np.inf)
    backward = np.where(is_hit & ~is_ahead, -along, np.inf)
    is_steep_edge = np.abs(turn) > _STEEP * np.hypot(*edge_m.T)
    both = is_steep_edge[forward.argmin(axis=1)] & is_steep_edge[backward.argmin(axis=1)]
    return backward.min(axis=1), forward.min(axis=1), both


def _with_metal_beside(
    is_hit: NDArray[np.bool_], is_ahead: NDArray[np.bool_], along_m: NDArray[np.float64]
) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Count the edge on which a point lies, as far as rounding tells, on its side without metal.

    From inside, an odd number of edges lies ahead. Where the number is even, the point is on an
    edge that was counted on the metal's side, and its way would lead through the air beside it.
    """
    rows = np.flatnonzero((is_ahead.sum(axis=1) % 2 == 0) & is_hit.any(axis=1))
    nearest = np.where(is_hit, np.abs(along_m), np.inf)[rows].argmin(axis=1)
    is_ahead, along_m = is_ahead.copy(), along_m.copy()
    is_ahead[rows, nearest] = ~is_ahead[rows, nearest]
    along_m[rows, nearest] = 0.0
    return is_ahead, along_m
