"""Plain strip reed: one tongue, straight or tapered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import rounded_polygon
from modewright.geometry.edges import edges_at_x
from modewright.geometry.sketch import Sketch
from modewright.parameters import Fault, quantity
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

__all__ = ["StripReed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StripReed:
    """Tongue of one width, or tapering straight from root to tip."""

    kind: ClassVar[str] = "strip reed"

    length_m: float = quantity(
        "m", "Free length from root to tip.", show="mm", above=0.0, plausible=(2e-3, 1.0)
    )
    width_m: float = quantity(
        "m", "Width at the root.", show="mm", above=0.0, plausible=(5e-4, 0.5)
    )
    tip_width_m: float | None = quantity(
        "m",
        "Width at the tip; as at the root if left out.",
        default=None,
        show="mm",
        above=0.0,
        plausible=(2e-4, 0.5),
    )
    tip_radius_m: float = quantity(
        "m", "Rounding of the two corners of the tip.", default=0.0, show="mm", at_least=0.0
    )

    @property
    def end_width_m(self) -> float:
        """Width at the tip. [m]"""
        return self.width_m if self.tip_width_m is None else self.tip_width_m

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a rounding that does not fit."""
        limit_m = min(self.end_width_m / 2, self.length_m)
        if self.tip_radius_m > limit_m * (1 + 1e-9):
            yield Fault(
                key="tip_radius",
                expected=f"at most half the tip, {format_quantity(limit_m, 'm', show='mm')}",
                got=format_quantity(self.tip_radius_m, "m", show="mm"),
            )

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Outline with root edge x = 0 and tip at x = length."""
        root, tip, radius = self.width_m / 2, self.end_width_m / 2, self.tip_radius_m
        length = self.length_m
        outer = rounded_polygon(
            [(0.0, -root, 0.0), (length, -tip, radius), (length, tip, radius), (0.0, root, 0.0)]
        )
        return Sketch(
            outline=Outline(outer=outer),
            root_edges_m=edges_at_x(outer, 0.0),
            tip_edges_m=edges_at_x(outer, length),
            named_points=(
                NamedPoint(name="tip", point_m=(length, 0.0)),
                NamedPoint(name="middle", point_m=(length / 2, 0.0)),
                NamedPoint(name="root", point_m=(0.0, 0.0)),
            ),
        )
