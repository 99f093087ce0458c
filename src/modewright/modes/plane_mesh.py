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
import numpy as np
import shapely

from modewright.errors import GeometryError
from modewright.modes.regions import held_ends

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.regions import PlaneRegions

__all__ = ["PlaneMesh", "mesh_plane"]

# Interior angles beyond this make the stress singular enough to matter (a fillet never does).
_RE_ENTRANT_RAD = np.radians(225)
_GRADING = 0.5


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
    edge_points : int array, shape (edges, 2)
        Ends of every triangle side that lies on an edge of the regions.
    edge_is_held : bool array, shape (edges,)
        Whether that side belongs to a held stretch of the outline.
    """

    points_m: NDArray[np.float64]
    triangles: NDArray[np.int64]
    region: NDArray[np.int64]
    edge_points: NDArray[np.int64]
    edge_is_held: NDArray[np.bool_]


def mesh_plane(regions: PlaneRegions, max_edge_m: float, corner_edge_m: float) -> PlaneMesh:
    """Mesh the regions.

    Parameters
    ----------
    regions : PlaneRegions
    max_edge_m : float
        Largest side of a triangle. [m]
    corner_edge_m : float
        Largest side at re-entrant corners and at the ends of held edges. [m]

    Returns
    -------
    PlaneMesh

    Raises
    ------
    GeometryError
        If the mesh library cannot mesh the outline.
    """
    geometry = netgen.geom2d.SplineGeometry()
    singular = set(_re_entrant_corners(regions)) | set(held_ends(regions).tolist())
    numbers = [
        geometry.AddPoint(float(x), float(y), maxh=corner_edge_m if i in singular else max_edge_m)
        for i, (x, y) in enumerate(regions.nodes_m)
    ]
    for index, edge in enumerate(regions.edges):
        geometry.Append(
            ["line", numbers[edge.start], numbers[edge.end]],
            leftdomain=edge.left + 1,
            rightdomain=edge.right + 1,
            bc=index + 1,
        )
    try:
        mesh = geometry.GenerateMesh(maxh=max_edge_m, grading=_GRADING)
    except netgen.meshing.NgException as error:
        raise GeometryError(
            f"outline: expected a shape that can be meshed, got: {error}.",
            hint="Look for slivers, doubled lines and corners that nearly touch.",
        ) from error
    return _read_mesh(mesh, regions)


def _read_mesh(mesh: netgen.meshing.Mesh, regions: PlaneRegions) -> PlaneMesh:
    points = np.array([point.p[:2] for point in mesh.Points()])
    elements = mesh.Elements2D()
    triangles = np.array([[v.nr - 1 for v in el.vertices] for el in elements], dtype=np.int64)
    region = np.array([el.index - 1 for el in elements], dtype=np.int64)
    corners = points[triangles]
    turn = shapely.is_ccw(shapely.linearrings(corners))
    triangles[~turn] = triangles[~turn][:, ::-1]
    sides = mesh.Elements1D()
    held = np.array([edge.is_held for edge in regions.edges])
    return PlaneMesh(
        points_m=points,
        triangles=triangles,
        region=region,
        edge_points=np.array([[v.nr - 1 for v in s.vertices] for s in sides], dtype=np.int64),
        edge_is_held=held[[s.index - 1 for s in sides]],
    )


def _re_entrant_corners(regions: PlaneRegions) -> list[int]:
    """Nodes of the body's edge at which it turns inwards sharply."""
    found: list[int] = []
    into: dict[int, int] = {}
    outof: dict[int, int] = {}
    for edge in regions.edges:
        if edge.right == -1:
            into[edge.end] = edge.start
            outof[edge.start] = edge.end
    for node, before in into.items():
        here = regions.nodes_m[node]
        back, ahead = regions.nodes_m[before] - here, regions.nodes_m[outof[node]] - here
        # Interior angle, on the left of the direction of travel.
        angle = np.arctan2(back[1], back[0]) - np.arctan2(ahead[1], ahead[0])
        if angle % (2 * np.pi) > _RE_ENTRANT_RAD:
            found.append(node)
    return found
