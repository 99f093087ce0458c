"""Holes through a plate that let the air of its gap out: where they can be drilled."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Point

from modewright.fabrication.board.model import Disc, parts_of
from modewright.geometry.corners import circle
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from modewright.fabrication.board.model import BoardPlate
    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["drilled_shield", "lay_vents", "vented"]

# A little more, since round corners are cut by chords.
_OVER = 1.02


def lay_vents(plate: BoardPlate, others: BaseGeometry, settings: BoardSettings) -> tuple[Disc, ...]:
    """Lay the holes of a plate on their square pattern about its centroid.

    Parameters
    ----------
    plate : BoardPlate
    others : Polygon or MultiPolygon
        Leads and lined holes on either face. [m]
    settings : BoardSettings

    Returns
    -------
    tuple of Disc
        Those that leave a track's width of copper at the edge of the plate and `smallest_space` to
        the others; none for a plate without holes.
    """
    holes = plate.holes
    if holes is None:
        return ()
    outline = loop_polygon(plate.loop)
    radius_m = holes.diameter_m / 2
    room = outline.buffer(-radius_m - settings.smallest_track_m)
    room = room.difference(others.buffer(radius_m + settings.smallest_space_m))
    low_x, low_y, high_x, high_y = outline.bounds
    middle = outline.centroid
    columns = _steps(low_x - middle.x, high_x - middle.x, holes.pitch_m)
    rows = _steps(low_y - middle.y, high_y - middle.y, holes.pitch_m)
    places = [
        (middle.x + i * holes.pitch_m, middle.y + j * holes.pitch_m) for i in columns for j in rows
    ]
    return tuple(
        Disc(centre_m=place, diameter_m=holes.diameter_m)
        for place in places
        if room.covers(Point(place))
    )


def _steps(low_m: float, high_m: float, pitch_m: float) -> range:
    return range(int(np.ceil(low_m / pitch_m)), int(np.floor(high_m / pitch_m)) + 1)


def vented(area: Polygon, vents: tuple[Disc, ...]) -> Polygon:
    """Copper of a plate without its holes. [m]"""
    drilled = [loop_polygon(circle(vent.centre_m, vent.diameter_m)) for vent in vents]
    left = area.difference(shapely.union_all(drilled)) if drilled else area
    return max(shapely.get_parts(left), key=lambda part: part.area)


def drilled_shield(
    parts: list[Polygon], vents: tuple[Disc, ...], via: Disc, settings: BoardSettings
) -> list[Polygon]:
    """Guard under plates with room for their holes, as far as it hangs together. [m]"""
    if not vents:
        return parts
    free = [loop_polygon(circle(vent.centre_m, vent.diameter_m)) for vent in vents]
    room = shapely.union_all(free).buffer(_OVER * settings.smallest_space_m)
    half_m = settings.smallest_track_m / 2
    left = shapely.union_all(parts).difference(room).buffer(-half_m).buffer(half_m)
    pad = Point(via.centre_m).buffer(via.diameter_m / 2)
    return [part for part in parts_of(left) if part.intersects(pad)]
