"""Solids from STEP files: their surface, their names, their plan.

The door of the geometry to the solid kernel, whose Python side carries no types. It is loaded when
a file is read, not before: it takes longer to load than most designs to check.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from modewright.errors import GeometryError
from modewright.geometry.blank import Outline
from modewright.geometry.loop import Loop
from modewright.geometry.solid_shape import StepBody

if TYPE_CHECKING:
    from pathlib import Path

    import netgen.occ

__all__ = ["FaceBox", "faces_of", "plan_of_surface", "read_step"]

_MM = 1e-3
# Triangles for the plan and for heights: so many along the diagonal of the body.
_PARTS = 60
_SNAP_M = 2e-6
_LEAST_HOLE_M2 = 1e-9
_FILES_KEPT = 4


def read_step(path: Path) -> StepBody:
    """Read one solid.

    Parameters
    ----------
    path : Path

    Returns
    -------
    StepBody
        In metres, whatever the unit of the file.

    Raises
    ------
    GeometryError
        If there is no such file, or no solid in it, or several.
    """
    return _body(path, _text(path))


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        raise GeometryError(
            f"{path}: expected a STEP file that can be read, got: {error.strerror}.",
            hint="Paths count from the folder of the design file.",
        ) from error


# A study asks for the body of the same file for every piece: what was read is kept while the text
# of the file stays the same.
@lru_cache(maxsize=_FILES_KEPT)
def _body(path: Path, text: str) -> StepBody:
    import netgen.meshing
    import netgen.occ

    shape = _shape(path, text)
    mesh = netgen.occ.OCCGeometry(shape).GenerateMesh(
        maxh=_diagonal_mm(shape) / _PARTS, perfstepsend=netgen.meshing.MeshingStep.MESHSURFACE
    )
    points = np.array([point.p for point in mesh.Points()]) * _MM
    corners = np.array([[v.nr - 1 for v in e.vertices[:3]] for e in mesh.Elements2D()])
    return StepBody(
        text=text,
        surface_m=points[corners],
        volume_m3=float(shape.mass) * _MM**3,
        area_m2=sum(float(face.mass) for face in shape.faces) * _MM**2,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceBox:
    """Face of a solid: its name, if it has one, and the box round it. [m]"""

    name: str
    low_m: tuple[float, float, float]
    high_m: tuple[float, float, float]


def faces_of(path: Path) -> tuple[FaceBox, ...]:
    """Faces of the solid in a file, in their order.

    Raises
    ------
    GeometryError
        As `read_step`.
    """
    return _faces(path, _text(path))


@lru_cache(maxsize=_FILES_KEPT)
def _faces(path: Path, text: str) -> tuple[FaceBox, ...]:
    return tuple(_face_box(face) for face in _shape(path, text).faces)


def _face_box(face: netgen.occ.Face) -> FaceBox:
    low, high = ([float(value) * _MM for value in corner] for corner in face.bounding_box)
    return FaceBox(
        name=face.name or "", low_m=(low[0], low[1], low[2]), high_m=(high[0], high[1], high[2])
    )


@lru_cache(maxsize=_FILES_KEPT)
def _shape(path: Path, _: str) -> netgen.occ.TopoDS_Shape:
    """The solid of a file with this text."""
    import netgen.meshing
    import netgen.occ

    try:
        shape = netgen.occ.OCCGeometry(str(path)).shape
    except (RuntimeError, netgen.meshing.NgException) as error:
        raise GeometryError(
            f"{path}: expected a STEP file, got: {error}.", hint="Export it as STEP AP214 or AP242."
        ) from error
    solids = list(shape.solids)
    if len(solids) != 1:
        raise GeometryError(
            f"{path}: expected one solid, got {len(solids)}.",
            hint="Join the parts to one solid, or export the one that vibrates.",
        )
    return solids[0]


def _diagonal_mm(shape: netgen.occ.TopoDS_Shape) -> float:
    low, high = shape.bounding_box
    return float(np.linalg.norm(np.array(list(high)) - np.array(list(low))))


@lru_cache(maxsize=_FILES_KEPT)
def plan_of_surface(body: StepBody) -> Outline:
    """Outline of a body as seen from below.

    Raises
    ------
    GeometryError
        If its plan is in several pieces.
    """
    triangles = [Polygon(corners) for corners in body.surface_m[:, :, :2]]
    # A hair more than each, so that neighbours surely meet.
    wide = [triangle.buffer(_SNAP_M) for triangle in triangles if triangle.area > 0]
    joined = shapely.union_all(wide).buffer(-_SNAP_M)
    pieces = [p for p in shapely.get_parts(joined) if isinstance(p, Polygon)]
    plan = max(pieces, key=lambda piece: piece.area).simplify(_SNAP_M)
    if not isinstance(plan, Polygon):
        raise GeometryError("STEP body: expected a plan in one piece, got several.")
    holes = [np.array(ring.coords)[:-1] for ring in plan.interiors]
    return Outline(
        outer=Loop.polygon(np.array(plan.exterior.coords)[:-1]),
        holes=tuple(
            Loop.polygon(corners) for corners in holes if Polygon(corners).area > _LEAST_HOLE_M2
        ),
    )
