"""Moving coil: a winding fixed to the sheet in the field of a magnet that stands still.

Force ``Bl i`` without static pull or stiffness; the coil's mass rides on the sheet, and motion
makes the voltage ``Bl v`` (Beranek & Mellow, Acoustics: Sound Fields, Transducers and Vibration,
ch. 6).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

from modewright.geometry.blank import AttachedMass
from modewright.geometry.corners import circle
from modewright.parameters import Fault, choice, point, quantity, section, text
from modewright.transducers.attachment import (
    ATTACHMENT_DOC,
    ATTACHMENTS,
    attachment_link,
    attachment_mass_kg,
)
from modewright.transducers.coil_action import plain_action
from modewright.transducers.coil_section import CoilSection
from modewright.transducers.driver import (
    AT_DOC,
    OFFSET_DOC,
    DriverSpot,
    PoleFace,
    known_position_m,
    position_faults,
)
from modewright.transducers.mover import Mover

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.loop import Loop
    from modewright.materials.model import Magnetism
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.attachment import Attachment
    from modewright.transducers.coil_action import CoilAction
    from modewright.transducers.driver import SheetSpot
    from modewright.transducers.gap import BiasedGap

__all__ = ["MovingCoil"]

_DIAMETER_M = 8e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class MovingCoil:
    """Driver with its coil on the sheet."""

    kind: ClassVar[str] = "moving coil"

    name: str = text("Name of the driver.", default="driver")
    position_m: tuple[float, float] | None = point(
        "Place on the sheet under the centre of the coil.", default=None
    )
    at: str = text(AT_DOC, default="")
    offset_m: tuple[float, float] = point(OFFSET_DOC, default=(0.0, 0.0))
    side: Literal["above", "below"] = choice(
        "Side of the sheet that carries the coil.", ("above", "below"), default="above"
    )
    force_factor_n_per_a: float = quantity(
        "N/A", "Force per ampere, Bl.", default=1.0, above=0.0, plausible=(0.05, 30.0)
    )
    diameter_m: float | None = quantity(
        "m",
        "Diameter of the coil; left out, that of a disc as large as the drawn area, or 8 mm.",
        default=None,
        show="mm",
        above=0.0,
        plausible=(1e-3, 0.05),
    )
    height_m: float = quantity(
        "m", "Height of the coil.", default=4e-3, show="mm", above=0.0, plausible=(1e-3, 0.05)
    )
    mass_kg: float = quantity(
        "kg",
        "Mass that the coil adds to the sheet.",
        default=0.2e-3,
        show="g",
        above=0.0,
        plausible=(1e-5, 1e-2),
    )
    attachment: Attachment | None = section(ATTACHMENT_DOC, *ATTACHMENTS, default=None)
    coil: CoilSection = section("The winding.", CoilSection, default=CoilSection())

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the fields."""
        return position_faults(self.position_m, self.at)

    @property
    def place_m(self) -> tuple[float, float]:
        """See `modewright.transducers.driver.Driver`."""
        return known_position_m(self.name, self.position_m)

    @property
    def face_diameter_m(self) -> float:
        """Diameter of the coil. [m]"""
        return _DIAMETER_M if self.diameter_m is None else self.diameter_m

    @property
    def face(self) -> Loop:
        """See `modewright.transducers.driver.Driver`."""
        return circle(self.place_m, self.face_diameter_m)

    @property
    def parts_text(self) -> str:
        """See `modewright.transducers.driver.Driver`."""
        return self.coil.parts_text

    def placed(self, spot: DriverSpot) -> MovingCoil:
        """See `modewright.transducers.driver.Driver`."""
        diameter = self.diameter_m if self.diameter_m is not None else spot.diameter_m
        return replace(
            self, position_m=spot.centre_m, at="", offset_m=(0.0, 0.0), diameter_m=diameter
        )

    @property
    def masses(self) -> tuple[AttachedMass, ...]:
        """The coil, a thin-walled ring."""
        radius = self.face_diameter_m / 2
        across = self.mass_kg * (radius**2 / 2 + self.height_m**2 / 12)
        ring = AttachedMass(
            centre_m=self.place_m,
            footprint_radius_m=radius,
            mass_kg=self.mass_kg + attachment_mass_kg(self.attachment),
            height_m=self.height_m / 2,
            inertia_kg_m2=(across, across, self.mass_kg * radius**2),
            side="top" if self.side == "above" else "bottom",
        )
        return (ring,)

    @property
    def pole_face(self) -> PoleFace | None:
        """The gaps beside and below the winding are not known."""
        return None

    def biased_gap(self, shapes: ModeShapes, magnetism: Magnetism) -> BiasedGap | None:  # noqa: ARG002
        """Nothing pulls at rest, on any sheet."""
        return None

    def action(
        self,
        shapes: ModeShapes,
        biased: BiasedGap | None,  # noqa: ARG002
        sheet: SheetSpot | None = None,  # noqa: ARG002
    ) -> CoilAction:
        """See `modewright.transducers.driver.Driver`."""
        link = attachment_link(self.attachment)
        mover = link and Mover(
            mass_kg=self.mass_kg, stiffness_n_per_m=0.0, friction_ns_per_m=0.0, link=link
        )
        return plain_action(self, shapes, self.force_factor_n_per_a, mover=mover)
