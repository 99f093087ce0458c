"""The plane of the sheet cut into regions of one thickness, one hold and one footprint each.

All curves (outline, pockets, held areas, footprints of attached masses) become straight segments
that meet only at common nodes; every region knows its z range. Shapely does the planar topology.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, MultiPoint, Point, Polygon
from shapely.ops import polygonize

from modewright.errors import GeometryError
from modewright.geometry.flatten import circle_polygon, flatten
from modewright.geometry.fold_plan import plan_of_blank
from modewright.geometry.notches import notches_m

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import AttachedMass, Blank
    from modewright.geometry.loop import Loop

__all__ = [
    "PlaneEdge",
    "PlaneRegion",
    "PlaneRegions",
    "cut_into_regions",
    "footprint_polygon",
    "held_ends",
    "sheet_polygon",
]

# Nodes closer than this are one node. Far below any tolerance of the trade, far above round-off.
_GRID_M = 1e-8
_HELD_TOLERANCE_M = 5e-6
# Where the outline turns inwards by more, stress is singular enough to matter.
_NOTCH_RAD = np.radians(45)
# The edge of a footprint is no edge of the metal: a polygon of the right area does.
_FOOTPRINT_SAGITTA = 0.15


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaneRegion:
    """One region of the sheet.

    Parameters
    ----------
    polygon : Polygon
        Its edge. [m]
    bottom_m, top_m : float
        z of its lower and upper face. [m]
    is_held : bool
        Whether both faces are held.
    footprints : frozenset of int
        Numbers of the attached masses whose footprints it belongs to.
    """

    polygon: Polygon
    bottom_m: float
    top_m: float
    is_held: bool
    footprints: frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaneEdge:
    """A straight piece between two nodes, with the regions on its sides (-1 is outside)."""

    start: int
    end: int
    left: int
    right: int
    is_held: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaneRegions:
    """Nodes, edges and regions of the plane.

    Parameters
    ----------
    nodes_m : float array, shape (nodes, 2)
        [m]
    edges : tuple of PlaneEdge
    regions : tuple of PlaneRegion
    notches : int array
        Nodes at which the outline turns inwards sharply.
    """

    nodes_m: NDArray[np.float64]
    edges: tuple[PlaneEdge, ...]
    regions: tuple[PlaneRegion, ...]
    notches: NDArray[np.int64]

    def is_step(self, edge: PlaneEdge) -> bool:
        """Whether the thickness steps or a held area ends at this edge."""
        if edge.right == -1:
            return False
        left, right = self.regions[edge.left], self.regions[edge.right]
        return (left.bottom_m, left.top_m, left.is_held) != (
            right.bottom_m, right.top_m, right.is_held,
        )  # fmt: skip

    @property
    def faces_m(self) -> list[float]:
        """Heights of all faces of the sheet, rising. [m]"""
        heights = sorted(z for r in self.regions for z in (r.bottom_m, r.top_m))
        rising = [z for low, z in itertools.pairwise(heights) if z - low > _GRID_M]
        return [heights[0], *rising]

    @property
    def area_m2(self) -> float:
        """Area of the sheet in plan. [m²]"""
        return float(sum(region.polygon.area for region in self.regions))


def sheet_polygon(blank: Blank, sagitta_m: float) -> Polygon:
    """Outline with its holes as a polygon whose area is that of the true curves. [m]

    Raises
    ------
    GeometryError
        If the loops do not bound a body.
    """
    shell = flatten(blank.outline.outer, sagitta_m)
    holes = [flatten(hole, sagitta_m) for hole in blank.outline.holes]
    polygon = Polygon(shell, holes)
    if not polygon.is_valid or polygon.area <= 0:
        reason = shapely.is_valid_reason(polygon)
        raise GeometryError(
            f"outline: expected loops that bound one body, got {reason} (coordinates in m).",
            hint="Loops must not cross or touch, and holes must lie inside the outline.",
        )
    return polygon


def cut_into_regions(blank: Blank, sagitta_m: float) -> PlaneRegions:
    """Cut the sheet along every curve that changes something.

    Parameters
    ----------
    blank : Blank
    sagitta_m : float
        Largest distance between an arc and its chords. [m]

    Returns
    -------
    PlaneRegions
    """
    body = _with_held_ends(sheet_polygon(blank, sagitta_m), blank, sagitta_m)
    pockets = [Polygon(flatten(pocket.loop, sagitta_m)) for pocket in blank.pockets]
    held = [Polygon(flatten(loop, sagitta_m)) for loop in _held_areas(blank)]
    prints = [Polygon(footprint_polygon(mass)) for mass in blank.masses]
    curves = [body.boundary, *(shape.boundary for shape in (*pockets, *held, *prints))]
    curves += _kink_lines(blank, body)
    if blank.bends:
        curves += [zone.boundary for zone in plan_of_blank(blank, body).zones]
    # The stubs leave the extra arguments of set_precision open.
    snapped = [shapely.set_precision(c, _GRID_M) for c in curves]  # pyright: ignore[reportUnknownMemberType]
    lines = shapely.unary_union(snapped)
    faces = [face for face in polygonize(lines) if body.contains(face.representative_point())]
    regions = tuple(_describe(face, blank, pockets, held, prints) for face in faces)
    nodes_m, edges = _nodes_and_edges(regions, _held_curves(blank, sagitta_m))
    notches = _nodes_at(nodes_m, notches_m(blank.outline, _NOTCH_RAD))
    return PlaneRegions(nodes_m=nodes_m, edges=edges, regions=regions, notches=notches)


def _nodes_at(nodes_m: NDArray[np.float64], places_m: NDArray[np.float64]) -> NDArray[np.int64]:
    """Nodes that lie at some of the places."""
    apart = np.linalg.norm(nodes_m[:, None] - places_m[None], axis=2)
    return np.nonzero(apart.min(axis=1, initial=np.inf) < _HELD_TOLERANCE_M)[0]


def footprint_polygon(mass: AttachedMass) -> NDArray[np.float64]:
    """Polygon that stands for the footprint of a mass, shape (corners, 2). [m]"""
    radius_m = mass.footprint_radius_m
    return circle_polygon(mass.centre_m, radius_m, _FOOTPRINT_SAGITTA * radius_m)


def _kink_lines(blank: Blank, body: Polygon) -> list[LineString]:
    """Lines across the body at which the slope of a face jumps."""
    if blank.relief is None:
        return []
    low_x, low_y, high_x, high_y = body.bounds
    return [
        LineString([(x, low_y), (x, high_y)])
        for x in blank.relief.kinks_m
        if low_x + _GRID_M < x < high_x - _GRID_M
    ]


def _held_areas(blank: Blank) -> tuple[Loop, ...]:
    return blank.hold.areas if blank.hold is not None else ()


def _held_curves(blank: Blank, sagitta_m: float) -> list[tuple[LineString, float]]:
    """Each held edge, and how far from it a piece of the polygon may lie that stands for it. [m]"""
    if blank.hold is None:
        return []
    return [
        (LineString(curve), _HELD_TOLERANCE_M + (sagitta_m if len(curve) > 2 else 0.0))
        for curve in blank.hold.edge_curves_m
    ]


def _with_held_ends(body: Polygon, blank: Blank, sagitta_m: float) -> Polygon:
    """Add the ends of the held edges to the outline as corners."""
    if blank.hold is None or len(blank.hold.edges_m) == 0:
        return body
    ends = MultiPoint(blank.hold.edges_m.reshape(-1, 2))
    # Ends on a round contour may lie beside its chords.
    is_round = len(blank.hold.straight_edges) < len(blank.hold.edges_m)
    near_m = _HELD_TOLERANCE_M + (sagitta_m if is_round else 0.0)
    return (
        shapely.snap(body, ends, _HELD_TOLERANCE_M)
        if _are_corners(body, ends)
        else _split(body, ends, near_m)
    )


def _are_corners(body: Polygon, ends: MultiPoint) -> bool:
    corners = MultiPoint(shapely.get_coordinates(body))
    return all(corners.distance(end) < _HELD_TOLERANCE_M for end in ends.geoms)


def _split(body: Polygon, ends: MultiPoint, near_m: float) -> Polygon:
    rings = [
        _split_ring(np.asarray(ring.coords)[:-1], ends, near_m)
        for ring in (body.exterior, *body.interiors)
    ]
    return Polygon(rings[0], rings[1:])


def _split_ring(ring: NDArray[np.float64], ends: MultiPoint, near_m: float) -> NDArray[np.float64]:
    corners: list[tuple[float, float]] = []
    for start, stop in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        piece = LineString([start, stop])
        corners.append((float(start[0]), float(start[1])))
        inside = sorted(piece.project(end) for end in ends.geoms if piece.distance(end) < near_m)
        for along in inside:
            if near_m < along < piece.length - near_m:
                place = piece.interpolate(along)
                corners.append((place.x, place.y))
    return np.array(corners)


def _describe(
    face: Polygon,
    blank: Blank,
    pockets: list[Polygon],
    held: list[Polygon],
    prints: list[Polygon],
) -> PlaneRegion:
    inside = face.representative_point()
    bottom_m, top_m = 0.0, blank.thickness_m
    for pocket, shape in zip(blank.pockets, pockets, strict=True):
        if shape.contains(inside):
            removed_m = blank.thickness_m - pocket.thickness_m
            bottom_m += removed_m if pocket.side == "bottom" else 0.0
            top_m -= removed_m if pocket.side == "top" else 0.0
    if top_m <= bottom_m:
        raise GeometryError(
            f"pockets: expected some sheet to remain everywhere, got none at "
            f"({inside.x * 1e3:.3f}, {inside.y * 1e3:.3f}) mm.",
            hint="Pockets from both faces overlap there; make them shallower or move them apart.",
        )
    return PlaneRegion(
        polygon=face,
        bottom_m=bottom_m,
        top_m=top_m,
        is_held=any(shape.contains(inside) for shape in held),
        footprints=frozenset(i for i, shape in enumerate(prints) if shape.contains(inside)),
    )


def _nodes_and_edges(
    regions: tuple[PlaneRegion, ...], held: list[tuple[LineString, float]]
) -> tuple[NDArray[np.float64], tuple[PlaneEdge, ...]]:
    numbers: dict[tuple[int, int], int] = {}
    nodes: list[tuple[float, float]] = []
    sides: dict[tuple[int, int], list[int]] = {}

    def number(x: float, y: float) -> int:
        key = (round(x / _GRID_M), round(y / _GRID_M))
        if key not in numbers:
            numbers[key] = len(nodes)
            nodes.append((x, y))
        return numbers[key]

    for index, region in enumerate(regions):
        oriented = shapely.geometry.polygon.orient(region.polygon)
        for ring in (oriented.exterior, *oriented.interiors):
            names = [number(x, y) for x, y in ring.coords]
            for start, end in itertools.pairwise(names):
                if start == end:
                    continue
                if (end, start) in sides:
                    sides[end, start][1] = index
                else:
                    sides[start, end] = [index, -1]
    nodes_m = np.array(nodes)
    edges = tuple(
        PlaneEdge(
            start=start,
            end=end,
            left=left,
            right=right,
            is_held=right == -1 and _lies_on_held(nodes_m[[start, end]], held),
        )
        for (start, end), (left, right) in sides.items()
    )
    return nodes_m, edges


def _lies_on_held(piece_m: NDArray[np.float64], held: list[tuple[LineString, float]]) -> bool:
    places = [Point(piece_m[0]), Point(piece_m[1]), Point(piece_m.mean(axis=0))]
    return any(all(curve.distance(place) < near_m for place in places) for curve, near_m in held)


def held_ends(regions: PlaneRegions) -> NDArray[np.int64]:
    """Nodes at which a held stretch of the outline ends: the stress is singular there."""
    counts = np.zeros(len(regions.nodes_m), dtype=np.int64)
    for edge in regions.edges:
        if edge.is_held:
            counts[[edge.start, edge.end]] += 1
    return np.nonzero(counts == 1)[0]
