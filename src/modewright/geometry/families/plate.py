"""Rectangular plate or bar, the body of most published check values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import rectangle
from modewright.geometry.edges import edges_at_x
from modewright.geometry.sketch import Sketch
from modewright.parameters import quantity

if TYPE_CHECKING:
    import pathlib

__all__ = ["Plate"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """Rectangle, listened to at a corner, where a free plate always moves."""

    kind: ClassVar[str] = "plate"

    length_m: float = quantity("m", "Length along x.", show="mm", above=0.0, plausible=(2e-3, 2.0))
    width_m: float = quantity("m", "Width along y.", show="mm", above=0.0, plausible=(5e-4, 2.0))

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Outline with root edge x = 0."""
        length, half = self.length_m, self.width_m / 2
        outer = rectangle((0.0, -half), (length, half))
        places = {
            "corner": (length, half),
            "tip": (length, 0.0),
            "middle": (length / 2, 0.0),
            "side": (length / 2, half),
            "root": (0.0, 0.0),
        }
        return Sketch(
            outline=Outline(outer=outer),
            root_edges_m=edges_at_x(outer, 0.0),
            tip_edges_m=edges_at_x(outer, length),
            named_points=tuple(NamedPoint(name=n, point_m=p) for n, p in places.items()),
        )
