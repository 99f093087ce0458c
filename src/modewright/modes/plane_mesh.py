"""Triangles over the regions of the sheet, small where the stress is singular.

One of the doors to the mesh library, whose Python side carries no types: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false
# pyright: reportAttributeAccessIssue=false, reportUnknownParameterType=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import netgen.geom2d
import netgen.meshing
import ngsolve as ng
import numpy as np
import shapely

from modewright.errors import GeometryError
from modewright.modes.edge_layer import interior_angles, layer_corners, layered_pieces
from modewright.modes.regions import held_ends

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.edge_layer import Bearer
    from modewright.modes.regions import PlaneRegions

__all__ = ["MeshSizes", "PlaneMesh", "mesh_plane"]

# Up to this angle the end of a held edge is a milder one than elsewhere.
_OUTWARD_RAD = np.radians(135)
_GRADING = 0.9
# Layers of more than this share of a triangle bring nothing; thinner than that share, slivers.
_LARGEST_LAYER = 0.5
_SMALLEST_LAYER = 0.03
# Along steps, where the layer at the outline is left out.
_STEP_LAYER = 0.15
_ON_EDGE_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaneMesh:
    """Triangles of the plane.

    Parameters
    ----------
    points_m : float array, shape (points, 2)
        [m]
    triangles : int array, shape (triangles, 3)
        Anticlockwise.
    region : int array, shape (triangles,)
        Region of each triangle.
    held_sides : int array, shape (sides, 2)
        Ends of every triangle side on a held stretch of the outline, anticlockwise.
    held_triangles : int array, shape (sides,)
        The triangle of each of these sides.
    """

    points_m: NDArray[np.float64]
    triangles: NDArray[np.int64]
    region: NDArray[np.int64]
    held_sides: NDArray[np.int64]
    held_triangles: NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshSizes:
    """How large triangles may be.

    Parameters
    ----------
    edge_m : float
        Largest side of a triangle. [m]
    corner_edge_m : float
        Largest side at re-entrant corners, and where a held edge ends within a side. [m]
    mild_corner_edge_m : float
        Largest side where a held edge ends at a corner that points outwards. [m]
    step_edge_m : float
        Largest side along steps of thickness and edges of held areas. [m]
    layer_m : float or None
        Wanted width of a layer of thin triangles along the outline, if any. [m]
    """

    edge_m: float
    corner_edge_m: float
    mild_corner_edge_m: float
    step_edge_m: float
    layer_m: float | None


def mesh_plane(regions: PlaneRegions, sizes: MeshSizes) -> PlaneMesh:
    """Mesh the regions, with layers of thin triangles along outline and steps if wanted.

    Where triangles are hardly larger than the layer there is none at the outline.

    Parameters
    ----------
    regions : PlaneRegions
    sizes : MeshSizes

    Returns
    -------
    PlaneMesh

    Raises
    ------
    GeometryError
        If the mesh library cannot mesh the outline.
    """
    share = 1.0 if sizes.layer_m is None else sizes.layer_m / sizes.edge_m
    choices: list[tuple[Bearer, ...]] = []
    if sizes.layer_m is not None and any(regions.is_step(edge) for edge in regions.edges):
        choices = [("steps",)]
    if share < _LARGEST_LAYER:
        choices = [("outline", "steps"), ("outline",), *choices]
    for bearers in choices:
        largest = _LARGEST_LAYER if "outline" in bearers else _STEP_LAYER
        mesh = ng.Mesh(_triangulate(regions, sizes, bearers))
        mesh.RefineHP(1, min(max(share, _SMALLEST_LAYER), largest))
        plane = _read_mesh(mesh.ngmesh, regions)
        if _is_joined(plane, regions):
            return plane
    # The library knows no way to divide some constellations of triangles and leaves them unjoined.
    return _read_mesh(_triangulate(regions, sizes, ()), regions)


def _triangulate(
    regions: PlaneRegions, sizes: MeshSizes, bearers: tuple[Bearer, ...]
) -> netgen.meshing.Mesh:
    geometry = netgen.geom2d.SplineGeometry()
    corner_edge_m = _corner_sides(regions, sizes)
    nodes_m, pieces = layered_pieces(regions, sizes.layer_m or 0.0, bearers)
    corners = layer_corners(regions, pieces)
    numbers = [
        geometry.AddPoint(
            float(x),
            float(y),
            maxh=corner_edge_m.get(i, sizes.edge_m),
            hpref=float(i in corners),
        )
        for i, (x, y) in enumerate(nodes_m)
    ]
    for piece in pieces:
        edge = regions.edges[piece.edge]
        geometry.Append(
            ["line", numbers[piece.start], numbers[piece.end]],
            leftdomain=edge.left + 1,
            rightdomain=edge.right + 1,
            bc=piece.edge + 1,
            maxh=sizes.step_edge_m if regions.is_step(edge) else sizes.edge_m,
            hpref=float(piece.is_layered),
        )
    try:
        return geometry.GenerateMesh(maxh=sizes.edge_m, grading=_GRADING)
    except netgen.meshing.NgException as error:
        raise GeometryError(
            f"outline: expected a shape that can be meshed, got: {error}.",
            hint="Look for slivers, doubled lines and corners that nearly touch.",
        ) from error


def _is_joined(plane: PlaneMesh, regions: PlaneRegions) -> bool:
    """Whether only sides on the outline belong to one triangle alone."""
    sides, first, count = _sides(plane.triangles)
    outer = plane.points_m[sides[first[count == 1]]]
    outline = [regions.nodes_m[[e.start, e.end]] for e in regions.edges if e.right == -1]
    length, wanted = (float(_lengths(np.array(s)).sum()) for s in (outer, outline))
    return int(count.max()) <= 2 and abs(length - wanted) < _ON_EDGE_M + 1e-9 * wanted


def _lengths(pieces_m: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.linalg.norm(pieces_m[:, 1] - pieces_m[:, 0], axis=1)


def _sides(
    triangles: NDArray[np.int64],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """All sides (three of each triangle); of each different one the first place and the count."""
    sides = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    _, first, count = np.unique(
        np.sort(sides, axis=1), axis=0, return_index=True, return_counts=True
    )
    return sides, first, count


def _read_mesh(mesh: netgen.meshing.Mesh, regions: PlaneRegions) -> PlaneMesh:
    points = np.array([point.p[:2] for point in mesh.Points()])
    triangles: list[tuple[int, int, int]] = []
    region: list[int] = []
    for element in mesh.Elements2D():
        corners = [vertex.nr - 1 for vertex in element.vertices]
        parts = _halves(points, corners) if len(corners) == 4 else [tuple(corners)]
        triangles += parts
        region += [element.index - 1] * len(parts)
    numbers = np.array(triangles, dtype=np.int64)
    turn = shapely.is_ccw(shapely.linearrings(points[numbers]))
    numbers[~turn] = numbers[~turn][:, ::-1]
    held_sides, held_triangles = _held_sides(points, numbers, regions)
    return PlaneMesh(
        points_m=points,
        triangles=numbers,
        region=np.array(region, dtype=np.int64),
        held_sides=held_sides,
        held_triangles=held_triangles,
    )


def _halves(points: NDArray[np.float64], corners: list[int]) -> list[tuple[int, int, int]]:
    """Cut a quadrilateral along its shorter diagonal."""
    a, b, c, d = corners
    first = np.linalg.norm(points[a] - points[c])
    second = np.linalg.norm(points[b] - points[d])
    return [(a, b, c), (a, c, d)] if first <= second else [(a, b, d), (b, c, d)]


def _held_sides(
    points: NDArray[np.float64], triangles: NDArray[np.int64], regions: PlaneRegions
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    sides, first, count = _sides(triangles)
    outer = first[count == 1]
    held = [regions.nodes_m[[e.start, e.end]] for e in regions.edges if e.is_held]
    if not held:
        return np.zeros((0, 2), dtype=np.int64), np.zeros(0, dtype=np.int64)
    places = shapely.points(points[sides[outer]].mean(axis=1))
    distance = shapely.distance(shapely.multilinestrings(held), places)
    outer = outer[distance < _ON_EDGE_M]
    return sides[outer], outer // 3


def _corner_sides(regions: PlaneRegions, sizes: MeshSizes) -> dict[int, float]:
    """Largest side at nodes of the body's edge where the stress is singular. [m]"""
    angles = interior_angles(regions)
    sides = dict.fromkeys(regions.notches.tolist(), sizes.corner_edge_m)
    for node in held_ends(regions).tolist():
        is_mild = angles[node] < _OUTWARD_RAD
        sides[node] = sizes.mild_corner_edge_m if is_mild else sizes.corner_edge_m
    return sides
