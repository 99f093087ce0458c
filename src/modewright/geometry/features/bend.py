"""Straight bend across the flat blank."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from modewright.geometry.bends import Bend
from modewright.geometry.features.parts import FeatureParts
from modewright.parameters import Fault, point, quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.sketch import Sketch

__all__ = ["StraightBend"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightBend:
    """Bend from edge to edge; all other places of the design are those of the flat blank."""

    kind: ClassVar[str] = "bend"

    start_m: tuple[float, float] = point("One place on the middle line of the bend.")
    end_m: tuple[float, float] = point("Another place on that line.")
    angle_deg: float = quantity(
        "deg", "Angle by which the metal beyond turns; above 0 towards the upper face.",
        at_least=-175.0, at_most=175.0,
    )  # fmt: skip
    inside_radius_m: float = quantity(
        "m", "Radius of the inner face.", show="mm", above=0.0, plausible=(1e-4, 0.1)
    )
    k_factor: float | None = quantity(
        "1", "Place of the fibre that keeps its length, from the inner face, as a share of the "
        "thickness; by DIN 6935 for radius and thickness if left out.",
        default=None, above=0.0, below=1.0, plausible=(0.2, 0.6),
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return faults of a line without length and of a bend that bends nothing."""
        if self.start_m == self.end_m:
            yield Fault(key="end", expected="another place than start", got="the same")
        if self.angle_deg == 0:
            yield Fault(
                key="angle", expected="an angle above or below 0", got="0 deg",
                hint="Leave the bend out.",
            )  # fmt: skip

    def parts(self, sketch: Sketch) -> FeatureParts:  # noqa: ARG002
        """One bend."""
        bend = Bend(
            start_m=self.start_m,
            end_m=self.end_m,
            angle_rad=math.radians(self.angle_deg),
            inside_radius_m=self.inside_radius_m,
            k_factor=self.k_factor,
        )
        return FeatureParts(bends=(bend,))
