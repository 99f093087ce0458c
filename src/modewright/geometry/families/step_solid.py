"""Any solid, from a STEP file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.blank import NamedPoint
from modewright.geometry.measures import centroid_m
from modewright.geometry.planar import contains
from modewright.geometry.sketch import Sketch
from modewright.geometry.solid_shape import FaceChoice
from modewright.geometry.step_import import faces_of, plan_of_surface, read_step
from modewright.parameters import Fault, quantities, text, texts
from modewright.parameters import point as place

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from modewright.geometry.blank import Outline
    from modewright.geometry.step_import import FaceBox

__all__ = ["StepSolid"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepSolid:
    """Solid as it lies in its file, heard from below (-z); the stock plays no part."""

    kind: ClassVar[str] = "STEP solid"

    file: str = text("STEP file; a relative path counts from the folder of the design file.")
    held_faces: tuple[str, ...] = texts("Names of the faces that a clamp holds.", default=())
    held_box_low_m: tuple[float, ...] = quantities(
        "m", "Lower corner x, y, z of a box; faces wholly inside are held.", default=(), show="mm",
        length=3,
    )  # fmt: skip
    held_box_high_m: tuple[float, ...] = quantities(
        "m", "Upper corner x, y, z of that box.", default=(), show="mm", length=3
    )
    tip_m: tuple[float, float] | None = place(
        "Reference point in the plan; left out, the corner farthest from its middle.", default=None
    )

    def problems(self) -> Iterable[Fault]:
        """Return faults of the file name and of half a box."""
        if not self.file.strip():
            yield Fault(
                key="file", expected="the path of a STEP file", got="nothing",
                hint='Write for instance file = "body.step".',
            )  # fmt: skip
        if bool(self.held_box_low_m) != bool(self.held_box_high_m):
            key = "held_box_high" if self.held_box_low_m else "held_box_low"
            yield Fault(key=key, expected="both corners of the box", got="one")

    def sketch(self, folder: Path) -> Sketch:
        """Read the solid and look at it from below.

        Raises
        ------
        GeometryError
            If the file holds no solid, or no face of a name.
        """
        path = folder / self.file
        body = read_step(path)
        held = self._held(faces_of(path))
        outline = plan_of_surface(body)
        none = np.zeros((0, 2, 2))
        faces = FaceChoice(
            names=self.held_faces,
            low_m=_corner(self.held_box_low_m),
            high_m=_corner(self.held_box_high_m),
        )
        return Sketch(
            outline=outline,
            root_edges_m=none,
            tip_edges_m=none,
            named_points=self._named_points(outline, held),
            solid=body,
            root_faces=faces if self.held_faces or self.held_box_low_m else None,
        )

    def _held(self, faces: tuple[FaceBox, ...]) -> tuple[FaceBox, ...]:
        """Chosen faces; every name must be there."""
        known = dict.fromkeys(face.name for face in faces if face.name)
        missing = [name for name in self.held_faces if name not in known]
        if missing:
            listed = ", ".join(f'"{name}"' for name in known) or "no names at all"
            raise GeometryError(
                f"resonator.held_faces: expected names in {self.file}, which has {listed}, got "
                f'"{missing[0]}".',
                hint="Name the face in the drawing program, or give a box.",
            )
        low, high = np.array(self.held_box_low_m), np.array(self.held_box_high_m)
        return tuple(
            face
            for face in faces
            if face.name in self.held_faces
            or (len(low) and np.all(face.low_m >= low) and np.all(face.high_m <= high))
        )

    def _named_points(self, outline: Outline, held: tuple[FaceBox, ...]) -> tuple[NamedPoint, ...]:
        """The corner of the plan farthest from what is held, or from the middle; the middle."""
        middle = centroid_m(outline.outer)
        boxes = np.array([(f.low_m, f.high_m) for f in held]).reshape(-1, 3)
        start = boxes[:, :2].mean(axis=0) if held else middle
        corners = outline.outer.vertices_m
        away = np.hypot(corners[:, 0] - start[0], corners[:, 1] - start[1])
        # Corners equally far away must not be told apart by round-off.
        far = corners[int(np.argmax(np.round(np.asarray(away, dtype=float), 9)))]
        tip = (float(far[0]), float(far[1])) if self.tip_m is None else self.tip_m
        points = [NamedPoint(name="tip", point_m=tip)]
        if contains(outline, middle[None])[0]:
            points.append(NamedPoint(name="centre", point_m=(float(middle[0]), float(middle[1]))))
        return tuple(points)


def _corner(values: tuple[float, ...]) -> tuple[float, float, float] | None:
    if len(values) != 3:
        return None
    x, y, z = values
    return x, y, z
