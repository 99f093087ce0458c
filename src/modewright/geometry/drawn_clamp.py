"""Curves on the layer CLAMP: edges of the outline that they cover, and areas between jaws."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations, starmap
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point

from modewright.checks import frozen_array
from modewright.errors import GeometryError
from modewright.geometry.arcs import arc_of, polyline, segments
from modewright.geometry.held_arcs import covered_arc, joined, part_of_arc
from modewright.geometry.measures import centroid_m
from modewright.geometry.places import place_mm
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from modewright.geometry.arcs import Arc
    from modewright.geometry.blank import Outline
    from modewright.geometry.chaining import Chains
    from modewright.geometry.loop import Loop

__all__ = ["HeldPlaces", "held_places"]

# A curve drawn by eye onto the outline with a snap tool lies far closer than this.
ON_OUTLINE_M = 5e-6

_Segment = tuple["NDArray[np.float64]", "NDArray[np.float64]", float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeldPlaces:
    """What the layer CLAMP holds.

    Parameters
    ----------
    edges_m : float array, shape (edges, 2, 2)
        Start and end of the pieces of the outline that are held. [m]
    edge_bulge : float array, shape (edges,)
        Bulge of each; 0 for a straight one.
    areas : tuple of Loop
        Between jaws.
    """

    edges_m: NDArray[np.float64]
    edge_bulge: NDArray[np.float64]
    areas: tuple[Loop, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "edges_m", frozen_array(self.edges_m).reshape(-1, 2, 2))
        object.__setattr__(self, "edge_bulge", frozen_array(self.edge_bulge))


def held_places(path: Path, clamp: Chains, outline: Outline) -> HeldPlaces:
    """Tell edges from areas.

    Parameters
    ----------
    path : Path
        Drawing, for the messages.
    clamp : Chains
        Curves of the layer CLAMP. Lines may be longer or shorter than the piece that they mark, a
        closed curve that lies on the contour all round holds that edge all round.
    outline : Outline

    Returns
    -------
    HeldPlaces

    Raises
    ------
    GeometryError
        If an open curve covers no piece of the outline, or one area lies inside another.
    """
    rim = shapely.union_all([LineString(_corners(loop)) for loop in _loops(outline)])
    is_edge = [_lies_on(loop, rim) for loop in clamp.loops]
    areas = tuple(loop for loop, edge in zip(clamp.loops, is_edge, strict=True) if not edge)
    _refuse_nested(path, clamp.loops, areas)
    drawn = [
        *(step for trace in clamp.open_traces for step in _steps(trace.vertices_m, trace.bulge)),
        *(step for loop, edge in zip(clamp.loops, is_edge, strict=True) if edge
          for step in segments(loop)),
    ]  # fmt: skip
    straight = np.concatenate([_straight(loop) for loop in _loops(outline)])
    arcs = [
        arc_of(*segment) for loop in _loops(outline) for segment in segments(loop) if segment[2]
    ]
    found: list[tuple[NDArray[np.float64], float]] = []
    parts: list[list[tuple[float, float]]] = [[] for _ in arcs]
    for start, end, bulge in drawn:
        lines = _overlaps(start, end, straight) if bulge == 0 else []
        curve = polyline(start, end, bulge)
        covered = [covered_arc(arc, curve, ON_OUTLINE_M) for arc in arcs]
        if not lines and not any(covered):
            raise GeometryError(
                f"{path}: expected every curve on the layer CLAMP to lie on a piece of the outline "
                f"within 0.005 mm, got none under the {'arc' if bulge else 'line'} from "
                f"{place_mm(start)} to {place_mm(end)}.",
                hint="Snap it to the outline, or draw the held place as a closed area.",
            )
        found += [(line, 0.0) for line in lines]
        for one, part in zip(parts, covered, strict=True):
            one += part
    found += starmap(part_of_arc, _merged(arcs, parts))
    return HeldPlaces(
        edges_m=np.array([edge for edge, _ in found]),
        edge_bulge=np.array([bulge for _, bulge in found]),
        areas=areas,
    )


def _merged(
    arcs: list[Arc], parts: list[list[tuple[float, float]]]
) -> Iterator[tuple[Arc, float, float]]:
    for arc, one in zip(arcs, parts, strict=True):
        for low, high in joined(one):
            yield arc, low, high


def _loops(outline: Outline) -> tuple[Loop, ...]:
    return (outline.outer, *outline.holes)


def _steps(vertices_m: NDArray[np.float64], bulge: NDArray[np.float64]) -> Iterator[_Segment]:
    for start, end, one in zip(vertices_m[:-1], vertices_m[1:], bulge, strict=True):
        yield start, end, float(one)


def _corners(loop: Loop) -> NDArray[np.float64]:
    """Closed run of corners along a loop. [m]"""
    runs = [polyline(*segment) for segment in segments(loop)]
    return np.concatenate([runs[0], *(run[1:] for run in runs[1:])])


def _lies_on(loop: Loop, rim: BaseGeometry) -> bool:
    """Whether a closed curve lies on the contour all round."""
    corners = _corners(loop)
    middles = (corners[:-1] + corners[1:]) / 2
    # Chords of half a degree lie beside a round contour by a hundred thousandth of its radius.
    beside_m = 1e-5 * float(np.ptp(corners, axis=0).max())
    places = np.concatenate([corners, middles])
    return all(rim.distance(Point(place)) <= ON_OUTLINE_M + beside_m for place in places)


def _refuse_nested(path: Path, loops: tuple[Loop, ...], areas: tuple[Loop, ...]) -> None:
    """An area with another inside could be meant as a ring or as both."""
    known = {id(area) for area in areas}
    for outer, inner in permutations(loops, 2):
        if id(outer) not in known and id(inner) not in known:
            continue
        # A curve that crosses itself is told where areas are checked.
        a, b = (loop_polygon(loop).buffer(0) for loop in (outer, inner))
        if a.buffer(ON_OUTLINE_M).covers(b):
            raise GeometryError(
                f"{path}: expected areas on the layer CLAMP beside each other, got one inside "
                f"another, around {place_mm(centroid_m(inner))}.",
                hint="Draw a ring as two halves that meet; an edge held all round needs one curve "
                "on the contour and no area.",
            )


def _straight(loop: Loop) -> NDArray[np.float64]:
    ends = np.roll(loop.vertices_m, -1, axis=0)
    return np.stack([loop.vertices_m, ends], axis=1)[loop.bulge == 0]


def _overlaps(
    start: NDArray[np.float64], end: NDArray[np.float64], pieces: NDArray[np.float64]
) -> list[NDArray[np.float64]]:
    """Parts of the pieces that lie under the line from start to end."""
    found: list[NDArray[np.float64]] = []
    for first, last in pieces:
        along = last - first
        length = float(np.hypot(*along))
        unit = along / length
        low, high = sorted((float((start - first) @ unit), float((end - first) @ unit)))
        low, high = max(low, 0.0), min(high, length)
        if high - low <= ON_OUTLINE_M:
            continue
        edge = np.array([first + low * unit, first + high * unit])
        if max(_distance(point, start, end) for point in edge) <= ON_OUTLINE_M:
            # Ends as good as at a corner are the corner.
            edge[0] = first if low <= ON_OUTLINE_M else edge[0]
            edge[1] = last if length - high <= ON_OUTLINE_M else edge[1]
            found.append(edge)
    return found


def _distance(
    point: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> float:
    """From a point to the endless line through start and end. [m]"""
    along, away = end - start, point - start
    length = float(np.hypot(*along))
    return abs(float(along[0] * away[1] - along[1] * away[0])) / length if length > 0 else np.inf
