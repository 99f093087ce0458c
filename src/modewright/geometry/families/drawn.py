"""Any outline, from a drawing made elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.blank import NamedPoint
from modewright.geometry.drawn_parts import DrawnParts, read_drawing
from modewright.geometry.flatten import flatten
from modewright.geometry.measures import centroid_m
from modewright.geometry.places import place_mm
from modewright.geometry.planar import FINE_SAGITTA_M, contains
from modewright.geometry.sketch import Sketch
from modewright.parameters import Fault, point, text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

__all__ = ["DrawnOutline"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnOutline:
    """A DXF drawing with the layers OUTLINE, CLAMP, ELECTRODE... and DRIVER...."""

    kind: ClassVar[str] = "drawn outline"

    file: str = text("DXF drawing; a relative path counts from the folder of the design file.")
    tip_m: tuple[float, float] | None = point(
        "Reference point; left out, the corner farthest from where the body is held.", default=None
    )

    def problems(self) -> Iterable[Fault]:
        """Return faults of the file name."""
        if not self.file.strip():
            yield Fault(
                key="file", expected="the path of a DXF drawing", got="nothing",
                hint='Write for instance file = "reed.dxf".',
            )  # fmt: skip

    def sketch(self, folder: Path) -> Sketch:
        """Read the drawing.

        Returns
        -------
        Sketch
            Named points ``tip``, ``centre`` and one for each driver point.

        Raises
        ------
        GeometryError
            If the drawing cannot be read or the reference point is off the sheet.
        """
        parts = read_drawing(folder / self.file)
        return Sketch(
            outline=parts.outline,
            root_edges_m=parts.held.edges_m,
            root_edge_bulge=parts.held.edge_bulge,
            tip_edges_m=np.zeros((0, 2, 2)),
            root_areas=parts.held.areas,
            named_points=(
                NamedPoint(name="tip", point_m=self._tip_m(parts)),
                *_centre(parts),
                *parts.driver_points,
            ),
            plates=parts.electrodes,
            driver_areas=parts.driver_areas,
            notes=tuple(f"{self.file}: {note}" for note in parts.notes),
        )

    def _tip_m(self, parts: DrawnParts) -> tuple[float, float]:
        if self.tip_m is None:
            return _farthest(parts)
        if not contains(parts.outline, np.array([self.tip_m]))[0]:
            raise GeometryError(
                f"resonator.tip: expected a point on the sheet, got {place_mm(self.tip_m)}.",
                hint="Give coordinates as in the drawing, or leave it out.",
            )
        return self.tip_m


def _farthest(parts: DrawnParts) -> tuple[float, float]:
    """Corner of the outline farthest from the middle of what is held, or of the body. [m]"""
    held = [parts.held.edges_m.reshape(-1, 2)]
    held += [centroid_m(area)[None, :] for area in parts.held.areas]
    middle = np.concatenate(held)
    start = middle.mean(axis=0) if len(middle) else centroid_m(parts.outline.outer)
    corners = flatten(parts.outline.outer, FINE_SAGITTA_M)
    away = corners - start
    # Corners equally far away must not be told apart by round-off.
    distance = np.round(np.hypot(away[:, 0], away[:, 1]), 9)
    x, y = corners[int(np.argmax(distance))]
    return float(x), float(y)


def _centre(parts: DrawnParts) -> tuple[NamedPoint, ...]:
    """The centroid, where it lies on the sheet."""
    x, y = centroid_m(parts.outline.outer).tolist()
    if not contains(parts.outline, np.array([[x, y]]))[0]:
        return ()
    return (NamedPoint(name="centre", point_m=(x, y)),)
