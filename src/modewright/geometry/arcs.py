"""The circle on which a segment with a bulge lies.

With chord c and bulge b the included angle is 4 atan b and the radius c (1 + b²) / (4 |b|)
(DXF Reference, group code 42; elementary geometry).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from modewright.geometry.loop import Loop

__all__ = ["Arc", "arc_of", "polyline", "segments"]

# Chords that stand for an arc: beside it by at most a hundred thousandth of its radius.
_CHORD_RAD = math.radians(0.5)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arc:
    """Circle of one segment.

    Parameters
    ----------
    centre_m : float array, shape (2,)
        [m]
    radius_m : float
        [m]
    start_rad : float
        Direction from the centre to the start of the segment. [rad]
    angle_rad : float
        Included angle, positive anticlockwise. [rad]
    """

    centre_m: NDArray[np.float64]
    radius_m: float
    start_rad: float
    angle_rad: float

    def at(self, fraction: float) -> NDArray[np.float64]:
        """Place at this fraction of the way along. [m]"""
        turn = self.start_rad + fraction * self.angle_rad
        return self.centre_m + self.radius_m * np.array([math.cos(turn), math.sin(turn)])


def arc_of(start_m: NDArray[np.float64], end_m: NDArray[np.float64], bulge: float) -> Arc:
    """Circle of a segment.

    Parameters
    ----------
    start_m, end_m : float array, shape (2,)
        [m]
    bulge : float
        Not zero.
    """
    chord = end_m - start_m
    normal = np.array([-chord[1], chord[0]])
    centre = (start_m + end_m) / 2 + normal * (1 - bulge**2) / (4 * bulge)
    spoke = start_m - centre
    return Arc(
        centre_m=centre,
        radius_m=float(np.hypot(*spoke)),
        start_rad=math.atan2(spoke[1], spoke[0]),
        angle_rad=4 * math.atan(bulge),
    )


def segments(loop: Loop) -> Iterator[tuple[NDArray[np.float64], NDArray[np.float64], float]]:
    """Start, end and bulge of each segment in turn."""
    ends = np.roll(loop.vertices_m, -1, axis=0)
    for start, end, bulge in zip(loop.vertices_m, ends, loop.bulge, strict=True):
        yield start, end, float(bulge)


def polyline(
    start_m: NDArray[np.float64], end_m: NDArray[np.float64], bulge: float
) -> NDArray[np.float64]:
    """Corners along a line or arc, half a degree apart, shape (corners, 2). [m]"""
    if bulge == 0:
        return np.stack([start_m, end_m])
    arc = arc_of(start_m, end_m, bulge)
    count = max(2, math.ceil(abs(arc.angle_rad) / _CHORD_RAD))
    inside = [arc.at(k / count) for k in range(1, count)]
    return np.stack([start_m, *inside, end_m])
