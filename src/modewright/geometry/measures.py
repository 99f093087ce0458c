"""Area, length, centroid and extent of closed curves; arcs are taken exactly."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from modewright.geometry.arcs import arc_of, segments

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Outline
    from modewright.geometry.loop import Loop

__all__ = ["bounding_box_m", "centroid_m", "outline_area_m2", "perimeter_m", "signed_area_m2"]

# Below this bulge the closed forms cancel; two terms of their series are then exact in float64.
_FLAT = 1e-3


def signed_area_m2(loop: Loop) -> float:
    """Enclosed area, positive if the loop runs anticlockwise. [m²]

    Polygon of the vertices (trapezium formula) plus the circular segment R²/2 (θ - sin θ) on each
    chord.
    """
    return sum(_wedge(a, b) + _cap_area(a, b, bulge) for a, b, bulge in segments(_centred(loop)))


def outline_area_m2(outline: Outline) -> float:
    """Area of the sheet inside the outer loop and outside the holes. [m²]"""
    holes = sum(abs(signed_area_m2(hole)) for hole in outline.holes)
    return abs(signed_area_m2(outline.outer)) - holes


def perimeter_m(loop: Loop) -> float:
    """Length of the curve. [m]"""
    return sum(
        arc.radius_m * abs(arc.angle_rad)
        if bulge != 0 and (arc := arc_of(a, b, bulge))
        else float(np.hypot(*(b - a)))
        for a, b, bulge in segments(loop)
    )


def centroid_m(loop: Loop) -> NDArray[np.float64]:
    """Centroid of the enclosed area. [m]

    A circular segment has its centroid 4 R sin³(θ/2) / (3 (θ - sin θ)) from the centre.

    Raises
    ------
    ValueError
        If the loop encloses no area.
    """
    area, moment = 0.0, np.zeros(2)
    for a, b, bulge in segments(_centred(loop)):
        wedge, cap = _wedge(a, b), _cap_area(a, b, bulge)
        area += wedge + cap
        moment = moment + wedge * (a + b) / 3
        if cap != 0:
            moment = moment + cap * _cap_centroid(a, b, bulge)
    if area == 0:
        raise ValueError("loop: expected one that encloses an area, got none")
    return _origin(loop) + moment / area


def bounding_box_m(loop: Loop) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest x and y that the curve reaches, arcs included. [m]"""
    places = [*loop.vertices_m]
    for a, b, bulge in segments(loop):
        if bulge == 0:
            continue
        arc = arc_of(a, b, bulge)
        for quarter in np.arange(4) * math.pi / 2:
            ahead = (quarter - arc.start_rad) * math.copysign(1, arc.angle_rad) % (2 * math.pi)
            if ahead < abs(arc.angle_rad):
                places.append(arc.at(ahead / abs(arc.angle_rad)))
    stacked = np.array(places)
    return stacked.min(axis=0), stacked.max(axis=0)


def _origin(loop: Loop) -> NDArray[np.float64]:
    return loop.vertices_m.mean(axis=0)


def _centred(loop: Loop) -> Loop:
    """Same loop about its own middle: far from the origin the sums would cancel."""
    return type(loop)(vertices_m=loop.vertices_m - _origin(loop), bulge=loop.bulge)


def _wedge(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    return float(a[0] * b[1] - a[1] * b[0]) / 2


def _cap_area(a: NDArray[np.float64], b: NDArray[np.float64], bulge: float) -> float:
    chord = float(np.hypot(*(b - a)))
    if abs(bulge) < _FLAT:
        return chord**2 * (bulge / 3 + bulge**3 / 15)
    angle = 4 * math.atan(bulge)
    return (chord * (1 + bulge**2) / (4 * bulge)) ** 2 * (angle - math.sin(angle)) / 2


def _cap_centroid(
    a: NDArray[np.float64], b: NDArray[np.float64], bulge: float
) -> NDArray[np.float64]:
    outward = np.array([b[1] - a[1], a[0] - b[0]])  # right of the chord, as long as the chord
    if abs(bulge) < _FLAT:
        # A shallow arc is a parabola: two fifths of its height bulge / 2 * chord.
        return (a + b) / 2 + outward * bulge / 5
    arc = arc_of(a, b, bulge)
    angle = abs(arc.angle_rad)
    reach = 4 * math.sin(angle / 2) ** 3 / (3 * (angle - math.sin(angle)))
    return arc.centre_m + reach * (arc.at(0.5) - arc.centre_m)
