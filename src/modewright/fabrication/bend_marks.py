"""Bends on the drawing of a flat blank: middle lines, where each begins and ends, and its sizes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString

from modewright.fabrication.drawing import Line
from modewright.geometry.fold_plan import plan_of_blank
from modewright.geometry.planar import outline_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.fabrication.drawing import PointMm
    from modewright.geometry.bends import Bend
    from modewright.geometry.blank import Blank

__all__ = ["bend_lines", "bend_text"]

_FAR = 4.0
_ON_M = 1e-7


def bend_lines(blank: Blank) -> list[Line]:
    """Three lines for each bend, from edge to edge: the middle, and both ends of the rounding.

    Parameters
    ----------
    blank : Blank

    Returns
    -------
    list of Line
        On layer ``BEND``; middles are thick.
    """
    if not blank.bends:
        return []
    zones = plan_of_blank(blank, outline_polygon(blank.outline)).zones
    reach = _FAR * float(np.ptp(blank.outline.outer.vertices_m, axis=0).max())
    found: list[Line] = []
    for bend, zone in zip(blank.bends, zones, strict=True):
        across = np.array([-bend.along[1], bend.along[0]])
        half = bend.allowance_m(blank.thickness_m) / 2
        for offset in (-half, 0.0, half):
            middle = bend.middle_m + offset * across
            line = LineString([middle - reach * bend.along, middle + reach * bend.along])
            for piece in shapely.get_parts(zone.buffer(_ON_M).intersection(line)):
                if isinstance(piece, LineString) and piece.length > _ON_M:
                    start, end = (_mm(np.asarray(place)) for place in piece.coords[:2])
                    found.append(
                        Line(start_mm=start, end_mm=end, layer="BEND", is_thick=offset == 0)
                    )
    return found


def bend_text(bend: Bend, thickness_m: float, start: str, end: str) -> str:
    """Everything the bender needs in one line.

    Parameters
    ----------
    bend : Bend
    thickness_m : float
        [m]
    start, end : str
        Two places of its middle line, as the drawing counts them.

    Returns
    -------
    str
    """
    way = "up" if bend.angle_rad > 0 else "down"
    return (
        f"{abs(math.degrees(bend.angle_rad)):.6g} deg {way}, inside radius "
        f"{bend.inside_radius_m * 1e3:.3f}, middle line from {start} to {end}; "
        f"allowance {bend.allowance_m(thickness_m) * 1e3:.3f} "
        f"(neutral fibre at {bend.neutral_share(thickness_m):.3f} of the thickness)"
    )


def _mm(point_m: NDArray[np.float64]) -> PointMm:
    x, y = point_m * 1e3
    return float(x), float(y)
