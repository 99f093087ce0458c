"""Plane triangles extruded into prisms, layer by layer where the sheet has steps.

A door to the mesh library, whose Python side carries no types: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false
# pyright: reportAttributeAccessIssue=false, reportUnknownParameterType=false

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import netgen.meshing as nm
import ngsolve as ng
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.regions import PlaneRegions

__all__ = ["HELD_FACE", "extrude", "footprint_face", "layer_levels"]

HELD_FACE = "held"


def footprint_face(mass: int, side: str) -> str:
    """Name of the face under an attached mass."""
    return f"footprint{mass}{side}"


def layer_levels(regions: PlaneRegions, max_height_m: float) -> NDArray[np.float64]:
    """Heights at which prisms begin and end.

    Parameters
    ----------
    regions : PlaneRegions
    max_height_m : float
        Thicker layers are divided. [m]

    Returns
    -------
    float array
        Rising; contains the faces of every region. [m]
    """
    faces = sorted({r.bottom_m for r in regions.regions} | {r.top_m for r in regions.regions})
    levels = [faces[0]]
    for low, high in itertools.pairwise(faces):
        parts = int(np.ceil((high - low) / max_height_m - 1e-9))
        levels.extend(np.linspace(low, high, parts + 1)[1:])
    return np.array(levels)


def extrude(plane: PlaneMesh, regions: PlaneRegions, levels_m: NDArray[np.float64]) -> ng.Mesh:
    """Build the solid mesh.

    Parameters
    ----------
    plane : PlaneMesh
    regions : PlaneRegions
        Of the same sheet.
    levels_m : float array
        From `layer_levels`. [m]

    Returns
    -------
    ngsolve.Mesh
        Prisms. Faces are named `HELD_FACE`, `footprint_face(...)` or ``edge``.
    """
    mesh = nm.Mesh(dim=3)
    mesh.SetMaterial(1, "sheet")
    body = _Body(mesh, plane, levels_m)
    low = np.array([np.argmin(np.abs(levels_m - r.bottom_m)) for r in regions.regions])
    high = np.array([np.argmin(np.abs(levels_m - r.top_m)) for r in regions.regions])
    for triangle, region_index in zip(plane.triangles, plane.region, strict=True):
        region = regions.regions[region_index]
        first, last = int(low[region_index]), int(high[region_index])
        for layer in range(first, last):
            body.add_prism(triangle, layer)
        face = HELD_FACE if region.is_held else "edge"
        under = footprint_face(region.footprint, "bottom") if region.footprint >= 0 else face
        over = footprint_face(region.footprint, "top") if region.footprint >= 0 else face
        body.add_face(HELD_FACE if region.is_held else under, triangle[::-1], first)
        body.add_face(HELD_FACE if region.is_held else over, triangle, last)
    _add_side_faces(body, plane, low, high)
    return ng.Mesh(mesh)


class _Body:
    """Collects points, prisms and faces while the mesh is built."""

    def __init__(self, mesh: nm.Mesh, plane: PlaneMesh, levels_m: NDArray[np.float64]) -> None:
        self.mesh = mesh
        self.points_m = plane.points_m
        self.levels_m = levels_m
        self.numbers: dict[tuple[int, int], nm.PointId] = {}
        self.faces: dict[str, int] = {}

    def point(self, node: int, level: int) -> nm.PointId:
        key = (int(node), level)
        if key not in self.numbers:
            x, y = self.points_m[node]
            place = nm.Pnt(float(x), float(y), float(self.levels_m[level]))
            self.numbers[key] = self.mesh.Add(nm.MeshPoint(place))
        return self.numbers[key]

    def add_prism(self, triangle: NDArray[np.int64], layer: int) -> None:
        corners = [self.point(node, level) for level in (layer, layer + 1) for node in triangle]
        self.mesh.Add(nm.Element3D(1, corners))

    def add_face(self, name: str, triangle: NDArray[np.int64], level: int) -> None:
        corners = [self.point(node, level) for node in triangle]
        self.mesh.Add(nm.Element2D(self._face(name), corners))

    def add_side(self, name: str, start: int, end: int, layer: int) -> None:
        corners = [
            self.point(start, layer),
            self.point(end, layer),
            self.point(end, layer + 1),
            self.point(start, layer + 1),
        ]
        self.mesh.Add(nm.Element2D(self._face(name), corners))

    def _face(self, name: str) -> int:
        if name not in self.faces:
            number = len(self.faces) + 1
            descriptor = nm.FaceDescriptor(surfnr=number, domin=1, domout=0, bc=number)
            self.faces[name] = self.mesh.Add(descriptor)
            self.mesh.SetBCName(number - 1, name)
        return self.faces[name]


def _add_side_faces(
    body: _Body, plane: PlaneMesh, low: NDArray[np.int64], high: NDArray[np.int64]
) -> None:
    """Close the body at its outline and at every step of thickness."""
    owners: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
    for triangle, region in zip(plane.triangles, plane.region, strict=True):
        for start, end in zip(triangle, np.roll(triangle, -1), strict=True):
            key = (min(start, end), max(start, end))
            owners.setdefault(key, []).append((int(start), int(end), int(region)))
    held = {
        (min(pair), max(pair))
        for pair, is_held in zip(plane.edge_points.tolist(), plane.edge_is_held, strict=True)
        if is_held
    }
    for key, sides in owners.items():
        name = HELD_FACE if key in held else "edge"
        for start, end, region in sides:
            own = range(int(low[region]), int(high[region]))
            other = [range(int(low[r]), int(high[r])) for s, _, r in sides if s != start]
            for layer in own:
                if not any(layer in layers for layers in other):
                    body.add_side(name, start, end, layer)
