"""Region of reduced thickness: scraped, milled or etched from one face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

from modewright.geometry.blank import Pocket
from modewright.geometry.corners import rectangle
from modewright.geometry.features.parts import FeatureParts
from modewright.geometry.loop import Loop
from modewright.geometry.measures import bounding_box_m
from modewright.parameters import Fault, choice, points, quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.sketch import Sketch

__all__ = ["ThinnedRegion"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinnedRegion:
    """Band across the whole sheet between two x, or any polygon."""

    kind: ClassVar[str] = "thinned region"

    thickness_m: float = quantity(
        "m", "Thickness that remains.", show="mm", above=0.0, plausible=(2e-5, 1e-2)
    )
    from_x_m: float | None = quantity("m", "Where the band begins.", default=None, show="mm")
    to_x_m: float | None = quantity("m", "Where the band ends.", default=None, show="mm")
    corners_m: tuple[tuple[float, float], ...] = points(
        "Corners of a polygon, in place of a band; it may reach over the outline.", default=()
    )
    side: Literal["top", "bottom"] = choice(
        "Face from which the material is taken; pickups listen at the bottom.",
        ("top", "bottom"),
        default="top",
    )

    def problems(self) -> Iterable[Fault]:
        """Return faults of a region that is given twice, half or not at all."""
        given = [x for x in (self.from_x_m, self.to_x_m) if x is not None]
        if self.corners_m and given:
            yield Fault(key="corners", expected="either corners or from_x and to_x", got="both")
        elif self.corners_m and len(self.corners_m) < 3:
            yield Fault(key="corners", expected="three or more", got=str(len(self.corners_m)))
        elif not self.corners_m and len(given) < 2:
            key = "from_x" if self.from_x_m is None else "to_x"
            yield Fault(key=key, expected="both from_x and to_x, or corners", got="nothing")
        elif len(given) == 2 and given[0] >= given[1]:
            yield Fault(
                key="to_x", expected="more than from_x", got="no more", hint="Swap the two."
            )

    def parts(self, sketch: Sketch) -> FeatureParts:
        """One pocket."""
        pocket = Pocket(loop=self._loop(sketch), thickness_m=self.thickness_m, side=self.side)
        return FeatureParts(pockets=(pocket,))

    def _loop(self, sketch: Sketch) -> Loop:
        if self.from_x_m is None or self.to_x_m is None:
            return Loop.polygon(self.corners_m)
        low, high = bounding_box_m(sketch.outline.outer)
        margin = 0.1 * float(high[1] - low[1])
        return rectangle(
            (self.from_x_m, float(low[1]) - margin), (self.to_x_m, float(high[1]) + margin)
        )
