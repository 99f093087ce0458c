"""From areas to outlines of copper that a board house can make: one closed curve for each plate.

Too narrow copper and too narrow spaces go (opening and closing by a disc), parts that lie apart are
joined by tracks, and holes are opened by slits.

References
----------
Serra, Image Analysis and Mathematical Morphology, 1982, ch. 2 (opening, closing; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.ops import nearest_points

from modewright.electrodes.routes import shortest_route

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["BoardRules", "Seams", "cleaned", "find_seams", "sewn"]

_ARC_PIECES = 6
# A part with less of the whole is left out.
_LEAST_SHARE = 0.003
# Corners that lie nearer to the line through their neighbours go, and all lie on a fine grid.
_STRAIGHT_M, _GRID_M = 1.5e-6, 1e-7
# Tracks reach into what they join, which moves a little afterwards.
_INTO_WIDTHS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardRules:
    """What can be etched.

    Parameters
    ----------
    track_m, space_m : float
        Narrowest copper, narrowest space between copper. [m]
    """

    track_m: float
    space_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seams:
    """What makes one outline of parts and holes.

    Parameters
    ----------
    tracks, slits : tuple of LineString
        Middle lines. [m]
    """

    tracks: tuple[LineString, ...] = ()
    slits: tuple[LineString, ...] = ()


def cleaned(area: BaseGeometry, rules: BoardRules, room: BaseGeometry) -> BaseGeometry:
    """An area without copper or spaces that are too narrow.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        [m]
    rules : BoardRules
    room : Polygon or MultiPolygon
        Where copper may be. [m]

    Returns
    -------
    Polygon or MultiPolygon
        Empty if nothing can be made of it.
    """
    closed = _grown(_grown(area, rules.space_m / 2), -rules.space_m / 2).intersection(room)
    opened = _grown(_grown(closed, -rules.track_m / 2), rules.track_m / 2)
    parts = [part for part in _parts(opened) if part.area > _LEAST_SHARE * opened.area]
    return shapely.union_all(parts)


def _grown(area: BaseGeometry, by_m: float) -> BaseGeometry:
    return area.buffer(by_m, quad_segs=_ARC_PIECES)


def _parts(area: BaseGeometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(area) if isinstance(part, Polygon)]


def find_seams(area: BaseGeometry, rules: BoardRules, room: BaseGeometry) -> Seams | None:
    """Tracks between the parts of an area, and slits from its holes.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        [m]
    rules : BoardRules
    room : Polygon or MultiPolygon
        Where tracks may be; it holds all parts. [m]

    Returns
    -------
    Seams or None
        None if there is no way from one part to another.
    """
    parts = sorted(_parts(area), key=lambda part: -part.area)
    whole: BaseGeometry = parts[0]
    rest = parts[1:]
    tracks: list[LineString] = []
    free = _grown(room, -rules.track_m / 2)
    while rest:
        part = min(rest, key=lambda one: one.distance(whole))
        rest.remove(part)
        route = shortest_route(whole, part, free, rules.track_m / 2)
        if route is None:
            return None
        tracks.append(_lengthened(route, _INTO_WIDTHS * rules.track_m))
        whole = shapely.union_all([whole, part, _grown(tracks[-1], rules.track_m / 2)])
    return Seams(tracks=tuple(tracks), slits=_slits(whole, rules))


def _slits(area: BaseGeometry, rules: BoardRules) -> tuple[LineString, ...]:
    """From every hole the shortest way out, one after the other."""
    found: list[LineString] = []
    for part in _parts(area):
        outside = LineString(part.exterior.coords)
        for hole in part.interiors:
            if Polygon(hole).area > rules.space_m**2 / 4:
                ends = nearest_points(outside, LineString(hole.coords))
                found.append(_lengthened(LineString(ends), _INTO_WIDTHS * rules.space_m))
    return tuple(found)


def _lengthened(line: LineString, by_m: float) -> LineString:
    """The line with both ends drawn out straight."""
    places = shapely.get_coordinates(line)
    for end, inner in ((0, 1), (-1, -2)):
        way = places[end] - places[inner]
        size = float((way @ way) ** 0.5)
        places[end] = places[end] + way * (by_m / size if size > 0 else 0.0)
    return LineString(places)


def sewn(area: BaseGeometry, seams: Seams, rules: BoardRules) -> Polygon | None:
    """One closed curve around an area.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        [m]
    seams : Seams
        Of this area or one near it.
    rules : BoardRules

    Returns
    -------
    Polygon or None
        Without holes; None if the seams no longer hold the area together. [m]
    """
    tracks = [_grown(track, rules.track_m / 2) for track in seams.tracks]
    slits = [
        slit.buffer(rules.space_m / 2, cap_style="flat", quad_segs=_ARC_PIECES)
        for slit in seams.slits
    ]
    joined = shapely.union_all([area, *tracks]).difference(shapely.union_all(slits))
    parts = sorted(_parts(joined), key=lambda part: -part.area)
    if not parts or sum(part.area for part in parts[1:]) > _LEAST_SHARE * parts[0].area:
        return None
    plain = Polygon(parts[0].exterior).simplify(_STRAIGHT_M)
    corners = np.round(shapely.get_coordinates(plain) / _GRID_M) * _GRID_M
    outline = Polygon(corners)
    return outline if outline.is_valid else None
