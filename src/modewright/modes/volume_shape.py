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

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from modewright.geometry.solid_shape import FaceChoice, StepBody

__all__ = ["HELD", "is_in_box", "step_in_mm"]

HELD = "held"
_MM = 1e3
_TOUCH_M = 1e-6


def step_in_mm(solid: StepBody, faces: FaceChoice | None) -> netgen.occ.TopoDS_Shape:
    """Read a solid, moved so that its lowest point lies at z = 0.

    Parameters
    ----------
    solid : StepBody
    faces : FaceChoice or None
        Held faces; they get the name `HELD`, all others none.

    Raises
    ------
    GeometryError
        If no face is chosen by a choice.
    """
    shape = _read(solid)
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
    return shape.Move((0, 0, -low[2]))


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
    low, high = (corner / _MM for corner in _corners(face.bounding_box))
    return is_in_box(low, high, faces)


def is_in_box(low_m: ArrayLike, high_m: ArrayLike, faces: FaceChoice) -> bool:
    """Whether a face of this bounding box lies wholly in the box of a choice."""
    if faces.low_m is None or faces.high_m is None:
        return False
    is_above = np.all(np.asarray(low_m) >= np.array(faces.low_m) - _TOUCH_M)
    return bool(is_above and np.all(np.asarray(high_m) <= np.array(faces.high_m) + _TOUCH_M))
