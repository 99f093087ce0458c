"""Hatching of areas that are held, and of the side on which an edge is held."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import LineString, Polygon

from modewright.fabrication.drawing import Line

__all__ = ["edge_hatching", "hatching"]

_SLOPE = math.pi / 4


def hatching(area: Polygon, spacing_mm: float) -> list[Line]:
    """Lines at 45 degrees across an area.

    Parameters
    ----------
    area : Polygon
        [mm]
    spacing_mm : float
        Distance of the lines. [mm]
    """
    low_x, low_y, high_x, high_y = area.bounds
    reach = (high_x - low_x) + (high_y - low_y)
    # Where each line starts on the lower edge of the box, or to the left of it.
    step = spacing_mm / math.sin(_SLOPE)
    starts = np.arange(low_x - (high_y - low_y) + step / 2, high_x, step)
    lines = shapely.linestrings([[(x, low_y), (x + reach, low_y + reach)] for x in starts])
    found: list[Line] = []
    for part in shapely.get_parts(shapely.intersection(lines, area)):
        if isinstance(part, LineString) and part.length > 0:
            (x1, y1), (x2, y2) = part.coords[0], part.coords[-1]
            found.append(Line(start_mm=(x1, y1), end_mm=(x2, y2), layer="HATCH"))
    return found


def edge_hatching(
    start_mm: tuple[float, float],
    end_mm: tuple[float, float],
    body: Polygon,
    *,
    depth_mm: float,
    spacing_mm: float,
) -> list[Line]:
    """Hatching of a strip of this depth along the outer side of an edge of a body."""
    start, end = np.array(start_mm), np.array(end_mm)
    along = (end - start) / np.hypot(*(end - start))
    outwards = depth_mm * np.array([-along[1], along[0]])
    middle = (start + end) / 2 + 1e-3 * outwards
    if body.contains(shapely.points(middle)):
        outwards = -outwards
    return hatching(Polygon([start, end, end + outwards, start + outwards]), spacing_mm)
