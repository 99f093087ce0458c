"""From a sum of functions to the copper of one plate, or of two that share an area.

The first plate lies where the sum is above zero, the second, if there is one, where it is below.
Parts of a plate that lie apart are joined by tracks or given up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from modewright.electrodes.level_set import level_polygons
from modewright.electrodes.outlines import cleaned, find_slits, find_tracks, sewn, tracked

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import LineString
    from shapely.geometry.base import BaseGeometry

    from modewright.electrodes.area_mesh import AreaMesh
    from modewright.electrodes.outlines import BoardRules

__all__ = ["Layout", "Reserved", "drawn", "reserved", "with_tracks", "without_crumbs"]

_SIGNS = (1.0, -1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layout:
    """What is settled before edges are moved.

    Parameters
    ----------
    mesh : AreaMesh
    room : Polygon or MultiPolygon
        Where copper may be. [m]
    rules : BoardRules
    tracks : tuple of tuple of LineString
        Middle lines of the tracks of each plate.
    given_up : tuple of Polygon or MultiPolygon
        Where each plate has no copper whatever the sum. [m]
    """

    mesh: AreaMesh
    room: BaseGeometry
    rules: BoardRules
    tracks: tuple[tuple[LineString, ...], ...]
    given_up: tuple[BaseGeometry, ...]

    @staticmethod
    def empty(mesh: AreaMesh, room: BaseGeometry, rules: BoardRules, plates: int) -> Layout:
        """Neither tracks nor anything given up."""
        return Layout(
            mesh=mesh,
            room=room,
            rules=rules,
            tracks=((),) * plates,
            given_up=(Polygon(),) * plates,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reserved:
    """What a layout settles about each triangle.

    Parameters
    ----------
    taken : float array, shape (triangles,)
        Part that tracks of the first plate cover; below zero for the second.
    bare : float array, shape (triangles,)
        Part that the second plate leaves bare; below zero for the first.
    """

    taken: NDArray[np.float64]
    bare: NDArray[np.float64]


def _areas(layout: Layout, level: NDArray[np.float64]) -> list[BaseGeometry]:
    """Copper of each plate before its parts are joined."""
    positive = level_polygons(layout.mesh, level)
    if len(layout.tracks) == 1:
        ideal = [positive]
    else:
        half_m = layout.rules.space_m / 2
        ideal = [part.buffer(-half_m) for part in (positive, layout.room.difference(positive))]
    kept = [area.difference(gone) for area, gone in zip(ideal, layout.given_up, strict=True)]
    return [cleaned(area, layout.rules, layout.room) for area in kept]


def with_tracks(layout: Layout, level: NDArray[np.float64]) -> Layout | None:
    """Join the parts of each plate by tracks.

    Parameters
    ----------
    layout : Layout
    level : float array, shape (points,)

    Returns
    -------
    Layout or None
        Tracks of a pair run round the other plate, along the border of the room if need be. None
        if there is no way.
    """
    areas, room, rules = _areas(layout, level), layout.room, layout.rules
    if len(areas) == 1:
        tracks = find_tracks(areas[0], rules, room)
        return None if tracks is None else replace(layout, tracks=(tracks,))
    within = room.buffer(-rules.track_m - 2 * rules.space_m)
    found: list[tuple[LineString, ...]] = []
    laid: BaseGeometry = Polygon()
    for own, other in ((0, 1), (1, 0)):
        in_the_way = shapely.union_all([areas[other].intersection(within), laid])
        free = room.difference(in_the_way.buffer(rules.space_m))
        tracks = find_tracks(areas[own].intersection(free), rules, free)
        if tracks is None:
            return None
        found.append(tracks)
        laid = tracked(Polygon(), tracks, rules)
    return replace(layout, tracks=tuple(found))


def without_crumbs(layout: Layout, level: NDArray[np.float64]) -> Layout | None:
    """Give up all parts of each plate but the largest.

    Parameters
    ----------
    layout : Layout
    level : float array, shape (points,)

    Returns
    -------
    Layout or None
        None if each plate hangs together as it is.
    """
    given_up: list[BaseGeometry] = []
    is_whole = True
    for area, gone in zip(_areas(layout, level), layout.given_up, strict=True):
        parts = sorted(shapely.get_parts(area), key=lambda part: -part.area)
        is_whole &= len(parts) < 2
        around = [part.buffer(layout.rules.space_m) for part in parts[1:]]
        given_up.append(shapely.union_all([gone, *around]))
    return None if is_whole else replace(layout, given_up=tuple(given_up))


def reserved(layout: Layout) -> Reserved:
    """What tracks and given-up parts leave to choose in each triangle."""
    mesh, rules = layout.mesh, layout.rules
    taken, bare = np.zeros(len(mesh.triangles)), np.zeros(len(mesh.triangles))
    for sign, tracks, gone in zip(_SIGNS, layout.tracks, layout.given_up, strict=False):
        if tracks:
            copper = tracked(Polygon(), tracks, rules)
            taken += sign * _covered_share(mesh, copper)
            if len(layout.tracks) > 1:
                around = copper.buffer(rules.space_m).difference(copper)
                bare += sign * _covered_share(mesh, around)
        bare -= sign * _covered_share(mesh, gone)
    return Reserved(taken=taken, bare=bare)


def _covered_share(mesh: AreaMesh, copper: BaseGeometry) -> NDArray[np.float64]:
    share = np.zeros(len(mesh.triangles))
    corners = mesh.points_m[mesh.triangles]
    cells = [Polygon(three) for three in corners]
    shapely.prepare(copper)
    for number in np.flatnonzero(shapely.intersects(copper, cells)):
        share[number] = cells[number].intersection(copper).area
    return share / mesh.area_m2


def drawn(layout: Layout, level: NDArray[np.float64]) -> tuple[Polygon, ...] | None:
    """Outlines of the plates.

    Parameters
    ----------
    layout : Layout
    level : float array, shape (points,)

    Returns
    -------
    tuple of Polygon or None
        One for each plate, without holes; None if one does not hang together. [m]
    """
    rules = layout.rules
    laid = [tracked(Polygon(), tracks, rules) for tracks in layout.tracks]
    plates: list[Polygon] = []
    for own, area in enumerate(_areas(layout, level)):
        cut = [laid[k].buffer(rules.space_m) for k in range(len(laid)) if k != own and laid[k]]
        left = cleaned(area.difference(shapely.union_all(cut)), rules, layout.room) if cut else area
        copper = tracked(left, layout.tracks[own], rules)
        plate = None if left.is_empty else sewn(copper, find_slits(copper, rules), rules)
        if plate is None:
            return None
        plates.append(plate)
    return tuple(plates)
