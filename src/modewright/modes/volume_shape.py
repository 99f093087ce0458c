"""Solids in the solid kernel, in millimetres, with their held faces marked.

One of the doors to the mesh library, whose Python side carries no types: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import netgen.occ
import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.solid_shape import StepBody

if TYPE_CHECKING:
    from modewright.geometry.solid_shape import FaceChoice, SolidShape, TurnedRod

__all__ = ["HELD", "solid_in_mm"]

HELD = "held"
_MM = 1e3
_TOUCH_MM = 1e-3


def solid_in_mm(solid: SolidShape, faces: FaceChoice | None) -> netgen.occ.TopoDS_Shape:
    """Build a solid whose lowest point lies at z = 0.

    Parameters
    ----------
    solid : SolidShape
    faces : FaceChoice or None
        Held faces; they get the name `HELD`, all others none.

    Raises
    ------
    GeometryError
        If no face is chosen by a choice.
    """
    shape = _read(solid) if isinstance(solid, StepBody) else _turned(solid)
    held = [face for face in shape.faces if faces is not None and _is_chosen(face, faces)]
    for face in shape.faces:
        face.name = "free"
    for face in held:
        face.name = HELD
    if faces is not None and not held:
        raise GeometryError(
            "held faces: expected at least one, got none of these names or wholly in this box.",
            hint="A box must reach a little beyond the faces it holds.",
        )
    low, _ = _corners(shape.bounding_box)
    return shape.Move((0, 0, -low[2])) if isinstance(solid, StepBody) else shape


def _turned(rod: TurnedRod) -> netgen.occ.TopoDS_Shape:
    x, r = rod.places_m * _MM, rod.radii_m * _MM
    axis = rod.height_m / 2 * _MM
    plane = netgen.occ.WorkPlane(netgen.occ.Axes((0, 0, axis), n=netgen.occ.Z, h=netgen.occ.X))
    # Anticlockwise, or the turned solid would be inside out.
    plane.MoveTo(float(x[0]), 0.0)
    plane.LineTo(float(x[-1]), 0.0)
    for place, radius in zip(x[::-1], r[::-1], strict=True):
        plane.LineTo(float(place), float(radius))
    face = plane.Close().Face()
    turned = face.Revolve(netgen.occ.Axis((0, 0, axis), netgen.occ.X), 360)
    return next(iter(turned.solids))


def _read(body: StepBody) -> netgen.occ.TopoDS_Shape:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "body.step"
        path.write_text(body.text, encoding="utf-8")
        return next(iter(netgen.occ.OCCGeometry(str(path)).shape.solids))


def _corners(box: object) -> tuple[np.ndarray, np.ndarray]:
    low, high = (np.array(list(corner)) for corner in box)  # type: ignore[attr-defined]
    return low, high


def _is_chosen(face: netgen.occ.Face, faces: FaceChoice) -> bool:
    if face.name in faces.names:
        return True
    if faces.low_m is None or faces.high_m is None:
        return False
    low, high = _corners(face.bounding_box)
    wanted = np.array([faces.low_m, faces.high_m]) * _MM
    return bool(np.all(low >= wanted[0] - _TOUCH_MM) and np.all(high <= wanted[1] + _TOUCH_MM))
