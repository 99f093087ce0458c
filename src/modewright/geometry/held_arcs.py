"""Arcs of an outline that lie under a curve drawn on the layer CLAMP."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from modewright.geometry.arcs import Arc

__all__ = ["covered_arc", "joined", "part_of_arc"]

# Places at which an arc is held against a curve lie no farther apart, and at least so many.
_STEP_RAD = math.radians(0.25)
_LEAST_PLACES = 5
# Parts of an arc that meet within this share of it are one.
_MEETING = 1e-6


def covered_arc(
    arc: Arc, curve_m: NDArray[np.float64], tolerance_m: float
) -> list[tuple[float, float]]:
    """Parts of an arc that a curve follows.

    Parameters
    ----------
    arc : Arc
        Of the outline.
    curve_m : float array, shape (corners, 2)
        From `modewright.geometry.arcs.polyline`. [m]
    tolerance_m : float
        How far curve and arc may lie apart. [m]

    Returns
    -------
    list of tuple of two floats
        Where each begins and ends, as fractions of the arc. Where a curve leaves the arc on the
        way, as a tangent does, it follows none of it.
    """
    ends = [
        fraction
        for fraction in (_fraction(arc, end, tolerance_m) for end in (curve_m[0], curve_m[-1]))
        if fraction is not None
    ]
    if len(curve_m) == 2 and len(ends) < 2:
        return []
    count = max(_LEAST_PLACES, math.ceil(abs(arc.angle_rad) / _STEP_RAD) + 1)
    places = np.linspace(0.0, 1.0, count)
    points = [shapely.Point(arc.at(float(place))) for place in places]
    line = shapely.LineString(curve_m)
    near = np.array([line.distance(point) <= tolerance_m for point in points])
    found: list[tuple[float, float]] = []
    for first, last in _runs(near):
        low = 0.0 if first == 0 else _end_near(ends, places[first - 1], places[first])
        high = 1.0 if last == count - 1 else _end_near(ends, places[last], places[last + 1])
        if low is not None and high is not None and low < high:
            found.append((low, high))
    return found


def _runs(near: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last of each run of places that are near."""
    jumps = np.diff(np.concatenate([[0], near.astype(int), [0]]))
    firsts, ends = np.flatnonzero(jumps == 1), np.flatnonzero(jumps == -1)
    return [(int(first), int(end) - 1) for first, end in zip(firsts, ends, strict=True)]


def _end_near(ends: list[float], low: float, high: float) -> float | None:
    """End of the curve between two places of the arc, or hardly beyond."""
    over = (high - low) / 2
    return next((end for end in ends if low - over <= end <= high + over), None)


def _fraction(arc: Arc, place_m: NDArray[np.float64], tolerance_m: float) -> float | None:
    """Where on an arc a place lies; None if it is off it."""
    spoke = place_m - arc.centre_m
    if abs(float(np.hypot(*spoke)) - arc.radius_m) > tolerance_m:
        return None
    turn = math.copysign(1.0, arc.angle_rad) * (math.atan2(spoke[1], spoke[0]) - arc.start_rad)
    slack_rad = tolerance_m / arc.radius_m
    # From a little before the arc's start to a little before that, once round.
    turn = (turn + slack_rad) % (2 * math.pi) - slack_rad
    if turn > abs(arc.angle_rad) + slack_rad:
        return None
    return min(max(turn / abs(arc.angle_rad), 0.0), 1.0)


def joined(parts: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Parts of one arc that meet or overlap made one."""
    found: list[tuple[float, float]] = []
    for low, high in sorted(parts):
        if found and low <= found[-1][1] + _MEETING:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def part_of_arc(arc: Arc, low_share: float, high_share: float) -> tuple[NDArray[np.float64], float]:
    """Ends, shape (2, 2) [m], and bulge of a part of an arc."""
    angle_rad = (high_share - low_share) * arc.angle_rad
    return np.stack([arc.at(low_share), arc.at(high_share)]), math.tan(angle_rad / 4)
