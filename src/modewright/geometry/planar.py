"""Loops as polygons of the planar topology library, for questions of inside, crossing, distance."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LinearRing, LineString, Polygon
from shapely.ops import nearest_points

from modewright.geometry.flatten import flatten

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from modewright.geometry.blank import Outline
    from modewright.geometry.loop import Loop

__all__ = [
    "FINE_SAGITTA_M",
    "contains",
    "loop_polygon",
    "nearest_places_m",
    "outline_polygon",
    "self_crossing_m",
    "shared_place_m",
]

FINE_SAGITTA_M = 1e-6
_COORDINATES = re.compile(r"\[\s*([-+.\deE]+)\s+([-+.\deE]+)")


def loop_polygon(loop: Loop, sagitta_m: float = FINE_SAGITTA_M) -> Polygon:
    """Polygon of the area of the loop; not valid if the loop crosses itself. [m]"""
    return Polygon(flatten(loop, sagitta_m))


def outline_polygon(outline: Outline, sagitta_m: float = FINE_SAGITTA_M) -> Polygon:
    """Polygon with holes, of the area of the sheet in plan. [m]"""
    holes = [flatten(hole, sagitta_m) for hole in outline.holes]
    return Polygon(flatten(outline.outer, sagitta_m), holes)


def contains(
    outline: Outline, points_m: NDArray[np.float64], tolerance_m: float = FINE_SAGITTA_M
) -> NDArray[np.bool_]:
    """Whether places lie on the sheet; its edge counts as sheet.

    Parameters
    ----------
    outline : Outline
    points_m : float array, shape (points, 2)
        [m]
    tolerance_m : float
        A place no farther than this from the sheet counts as on it. [m]

    Returns
    -------
    bool array, shape (points,)
    """
    body = outline_polygon(outline)
    places = shapely.points(np.asarray(points_m, dtype=float).reshape(-1, 2))
    return np.asarray(shapely.dwithin(body, places, tolerance_m))


def self_crossing_m(loop: Loop) -> NDArray[np.float64] | None:
    """Place where a loop crosses or touches itself; None if it does not. [m]

    A loop that encloses nothing, such as one that runs back over itself, counts as crossing.
    """
    corners = flatten(loop, FINE_SAGITTA_M)
    if len(corners) < 3:
        return loop.vertices_m[0]
    # In millimetres the library prints the place with more digits.
    polygon = Polygon(corners * 1e3)
    if polygon.is_valid:
        return loop.vertices_m[0] if polygon.area == 0 else None
    found = _COORDINATES.search(shapely.is_valid_reason(polygon))
    if found is None:
        return loop.vertices_m[0]
    return np.array([float(found.group(1)), float(found.group(2))]) * 1e-3


def shared_place_m(first: Loop, second: Loop) -> NDArray[np.float64] | None:
    """Place at which two loops cross or touch; None if they do neither. [m]"""
    rings = [LinearRing(flatten(loop, FINE_SAGITTA_M)) for loop in (first, second)]
    shared = shapely.intersection(rings[0], rings[1])
    return None if shared.is_empty else shapely.get_coordinates(shared)[0]


def nearest_places_m(first: BaseGeometry, second: BaseGeometry) -> NDArray[np.float64]:
    """Two places, one on each shape, that lie closest together; shape (2, 2). [m]"""
    return shapely.get_coordinates(LineString(nearest_points(first, second)))
