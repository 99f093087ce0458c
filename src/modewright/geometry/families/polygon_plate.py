"""Regular polygon with three or more sides."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import circle, rounded_polygon
from modewright.geometry.edges import edges_at_x
from modewright.geometry.sketch import Sketch
from modewright.parameters import Fault, count, quantity
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

__all__ = ["PolygonPlate"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PolygonPlate:
    """Plate with equal sides and angles about the origin; one side, its root, faces towards -x."""

    kind: ClassVar[str] = "polygon plate"

    sides: int = count("Number of sides.", at_least=3, at_most=60)
    inner_diameter_m: float = quantity(
        "m",
        "Diameter of the circle that touches all sides; across flats if their number is even.",
        show="mm",
        above=0.0,
        plausible=(5e-3, 1.0),
    )
    corner_radius_m: float = quantity(
        "m", "Rounding of the corners.", default=0.0, show="mm", at_least=0.0
    )
    hole_diameter_m: float | None = quantity(
        "m", "Diameter of a hole in the middle, if any.", default=None, show="mm", above=0.0,
        plausible=(5e-4, 0.9),
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return faults of a hole or of roundings that do not fit."""
        inner = self.inner_diameter_m
        if self.hole_diameter_m is not None and self.hole_diameter_m >= inner:
            yield Fault(
                key="hole_diameter",
                expected=f"less than the inner diameter, {_mm(inner)}",
                got=_mm(self.hole_diameter_m),
            )
        if self.corner_radius_m > inner / 2 * (1 - 1e-9):
            yield Fault(
                key="corner_radius",
                expected=f"less than half the inner diameter, {_mm(inner / 2)}",
                got=_mm(self.corner_radius_m),
                hint='For a round plate write kind = "disc".',
            )

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Polygon about the origin; the side towards -x is the root."""
        half_step = math.pi / self.sides
        reach = self.inner_diameter_m / 2 / math.cos(half_step)
        turns = math.pi + half_step * (2 * np.arange(self.sides) + 1)
        places = reach * np.stack([np.cos(turns), np.sin(turns)], axis=1)
        # The two ends of the root lie at the same x, whatever round-off says.
        places[[0, -1], 0] = -self.inner_diameter_m / 2
        outer = rounded_polygon([(float(x), float(y), self.corner_radius_m) for x, y in places])
        holes = () if self.hole_diameter_m is None else (circle((0.0, 0.0), self.hole_diameter_m),)
        return Sketch(
            outline=Outline(outer=outer, holes=holes),
            root_edges_m=edges_at_x(outer, -self.inner_diameter_m / 2),
            tip_edges_m=edges_at_x(outer, self.inner_diameter_m / 2),
            named_points=self._named_points(reach, half_step, float(turns[self.sides // 2])),
        )

    def _named_points(
        self, reach_m: float, half_step: float, turn_rad: float
    ) -> tuple[NamedPoint, ...]:
        """A corner at the far side, a side next to it, the middle and the root."""
        # A rounded corner lies nearer the middle by (1/cos - 1) times its radius.
        corner = reach_m - self.corner_radius_m * (1 / math.cos(half_step) - 1)
        inner = self.inner_diameter_m / 2
        side_rad = turn_rad - half_step
        hole = self.hole_diameter_m
        places = {
            "corner": (corner * math.cos(turn_rad), corner * math.sin(turn_rad)),
            "side": (inner * math.cos(side_rad), inner * math.sin(side_rad)),
            "hole edge" if hole is not None else "middle": (0.0 if hole is None else hole / 2, 0.0),
            "root": (-inner, 0.0),
        }
        return tuple(NamedPoint(name=name, point_m=place) for name, place in places.items())


def _mm(value_m: float) -> str:
    return format_quantity(value_m, "m", show="mm")
