"""Round and slotted holes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from modewright.geometry.corners import circle, slot
from modewright.geometry.features.parts import FeatureParts
from modewright.parameters import Fault, point, quantity
from modewright.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.sketch import Sketch

__all__ = ["RoundHole", "SlottedHole"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundHole:
    """Drilled or cut hole."""

    kind: ClassVar[str] = "round hole"

    centre_m: tuple[float, float] = point("Centre.")
    diameter_m: float = quantity("m", "Diameter.", show="mm", above=0.0, plausible=(1e-4, 0.1))

    def parts(self, sketch: Sketch) -> FeatureParts:  # noqa: ARG002
        """One hole."""
        return FeatureParts(holes=(circle(self.centre_m, self.diameter_m),))


@dataclass(frozen=True, slots=True, kw_only=True)
class SlottedHole:
    """Hole with parallel sides and round ends."""

    kind: ClassVar[str] = "slotted hole"

    centre_m: tuple[float, float] = point("Centre.")
    length_m: float = quantity("m", "Length over all.", show="mm", above=0.0, plausible=(2e-4, 0.5))
    width_m: float = quantity("m", "Width.", show="mm", above=0.0, plausible=(1e-4, 0.1))
    angle_deg: float = quantity(
        "deg", "Direction of the length, from x towards y.", default=0.0,
        at_least=-360.0, at_most=360.0,
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a slot shorter than wide."""
        if self.length_m <= self.width_m:
            yield Fault(
                key="length",
                expected=f"more than the width, {format_quantity(self.width_m, 'm', show='mm')}",
                got=format_quantity(self.length_m, "m", show="mm"),
                hint='For equal length and width write kind = "round hole".',
            )

    def parts(self, sketch: Sketch) -> FeatureParts:  # noqa: ARG002
        """One hole."""
        loop = slot(self.centre_m, self.length_m, self.width_m, math.radians(self.angle_deg))
        return FeatureParts(holes=(loop,))
