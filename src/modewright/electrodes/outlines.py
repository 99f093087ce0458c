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
from shapely import LineString, Point, Polygon
from shapely.ops import nearest_points

from modewright.electrodes.routes import shortest_route

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["BoardRules", "cleaned", "find_slits", "find_tracks", "sewn", "tracked"]

_ARC_PIECES = 6
# A part with less of the whole is left out.
_LEAST_SHARE = 0.003
# Corners that lie nearer to the line through their neighbours go, and all lie on a fine grid.
_STRAIGHT_M, _GRID_M = 1.5e-6, 1e-7
# Slits reach into what they open, which moves a little afterwards.
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


def find_tracks(
    area: BaseGeometry, rules: BoardRules, room: BaseGeometry
) -> tuple[LineString, ...] | None:
    """Tracks that join the parts of an area.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        [m]
    rules : BoardRules
    room : Polygon or MultiPolygon
        Where tracks may be; it holds all parts. [m]

    Returns
    -------
    tuple of LineString or None
        Middle lines, from the middle of a part to the middle of another, so that they still join
        them when their edges have moved; none for an area of one part. None if there is no way.
    """
    parts = sorted(_parts(area), key=lambda part: -part.area)
    joined, rest = parts[:1], parts[1:]
    tracks: list[LineString] = []
    free = _grown(room, -rules.track_m / 2)
    while rest:
        near, part = min(
            ((one, other) for one in joined for other in rest),
            key=lambda pair: pair[0].distance(pair[1]),
        )
        route = shortest_route(_middle(near), _middle(part), free, rules.track_m / 2)
        if route is None:
            return None
        tracks.append(route)
        joined.append(part)
        rest.remove(part)
    return tuple(tracks)


def _middle(part: Polygon) -> Point:
    """The place of a part that lies deepest in it."""
    circle = shapely.maximum_inscribed_circle(part)
    return Point(shapely.get_coordinates(circle)[0])


def find_slits(area: BaseGeometry, rules: BoardRules) -> tuple[LineString, ...]:
    """From every hole of an area the shortest way out.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        [m]
    rules : BoardRules

    Returns
    -------
    tuple of LineString
        Middle lines.
    """
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


def tracked(area: BaseGeometry, tracks: tuple[LineString, ...], rules: BoardRules) -> BaseGeometry:
    """An area with its tracks. [m]"""
    return shapely.union_all([area, *(_grown(track, rules.track_m / 2) for track in tracks)])


def sewn(area: BaseGeometry, slits: tuple[LineString, ...], rules: BoardRules) -> Polygon | None:
    """One closed curve around an area.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        With its tracks. [m]
    slits : tuple of LineString
        From its holes outwards.
    rules : BoardRules

    Returns
    -------
    Polygon or None
        Without holes; None if the area does not hang together. [m]
    """
    half = rules.space_m / 2
    open_m = [slit.buffer(half, cap_style="flat", quad_segs=_ARC_PIECES) for slit in slits]
    parts = sorted(_parts(area.difference(shapely.union_all(open_m))), key=lambda p: -p.area)
    if not parts or sum(part.area for part in parts[1:]) > _LEAST_SHARE * parts[0].area:
        return None
    plain = Polygon(parts[0].exterior).simplify(_STRAIGHT_M)
    outline = Polygon(np.round(shapely.get_coordinates(plain) / _GRID_M) * _GRID_M)
    return outline if outline.is_valid else None
