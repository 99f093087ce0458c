"""Tip mass: a cylinder soldered, glued or screwed to the sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

from modewright.geometry.blank import AttachedMass
from modewright.geometry.features.parts import FeatureParts
from modewright.geometry.sketch import named_point_m
from modewright.parameters import Fault, choice, point, quantity, text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.sketch import Sketch

__all__ = ["TipMass"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TipMass:
    """Upright cylinder, given by its mass or by height and density."""

    kind: ClassVar[str] = "tip mass"

    at: str = text('Named place of the resonator, such as "tip" or "arm 1 tip".', default="tip")
    centre_m: tuple[float, float] | None = point(
        "Centre of the footprint, in place of a named place.", default=None
    )
    offset_m: tuple[float, float] = point(
        "Shift of the footprint from that place; the whole footprint must lie on the sheet.",
        default=(0.0, 0.0),
    )
    diameter_m: float = quantity(
        "m", "Diameter of cylinder and footprint.", show="mm", above=0.0, plausible=(2e-4, 0.1)
    )
    height_m: float = quantity(
        "m", "Height of the cylinder; 0 for a mass without height.", default=0.0, show="mm",
        at_least=0.0, plausible=(0.0, 0.1),
    )  # fmt: skip
    mass_kg: float | None = quantity(
        "kg", "Mass; from height and density if left out.", default=None, show="g", above=0.0,
        plausible=(1e-7, 1.0),
    )  # fmt: skip
    density_kg_per_m3: float | None = quantity(
        "kg/m**3", "Density of the cylinder, if its mass is left out.", default=None, above=0.0,
        plausible=(500.0, 23000.0),
    )  # fmt: skip
    centre_height_m: float | None = quantity(
        "m",
        "Height of the centre of mass over the face; half the height if left out.",
        default=None,
        show="mm",
        at_least=0.0,
        plausible=(0.0, 0.1),
    )
    side: Literal["top", "bottom"] = choice(
        "Face that carries it; pickups listen at the bottom.", ("top", "bottom"), default="top"
    )

    def problems(self) -> Iterable[Fault]:
        """Return faults of a mass that is given twice or not at all."""
        if self.mass_kg is not None and self.density_kg_per_m3 is not None:
            yield Fault(key="density", expected="either mass or density", got="both")
        if self.mass_kg is None and self.density_kg_per_m3 is None:
            yield Fault(key="mass", expected="mass, or height and density", got="neither")
        if self.density_kg_per_m3 is not None and self.height_m == 0:
            yield Fault(key="height", expected="a height beside the density", got="0 mm")

    def parts(self, sketch: Sketch) -> FeatureParts:
        """One rigid mass with the moments of inertia of a solid cylinder.

        Axial m r²/2, transverse m (3 r² + h²)/12 (any textbook of mechanics).
        """
        place = self.centre_m
        if place is None:
            place = named_point_m(sketch.named_points, self.at, "tip mass at")
        radius = self.diameter_m / 2
        mass = self.mass_kg
        if mass is None:
            mass = (self.density_kg_per_m3 or 0.0) * math.pi * radius**2 * self.height_m
        across = mass * (3 * radius**2 + self.height_m**2) / 12
        centre_height = self.centre_height_m
        attached = AttachedMass(
            centre_m=(place[0] + self.offset_m[0], place[1] + self.offset_m[1]),
            footprint_radius_m=radius,
            mass_kg=mass,
            height_m=self.height_m / 2 if centre_height is None else centre_height,
            inertia_kg_m2=(across, across, mass * radius**2 / 2),
            side=self.side,
        )
        return FeatureParts(masses=(attached,))
