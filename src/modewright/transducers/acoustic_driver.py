"""Small loudspeaker whose chamber opens close over the sheet: it pushes by the pressure of the air.

Nothing is fixed to the sheet, so any sheet will do; most of the push is lost through the leak under
the rim. Figures of the cone are those of a data sheet: moving mass, resonance, Q, force factor and
effective area (R. H. Small, Direct-radiator loudspeaker system analysis, J. Audio Eng. Soc. 20
(1972) 383; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np

from modewright.geometry.corners import circle
from modewright.materials.air import air_at
from modewright.parameters import Fault, choice, point, quantity, section, text
from modewright.transducers.air_chamber import ChamberPort, Cone, leaky_chamber
from modewright.transducers.coil_action import CoilAction
from modewright.transducers.coil_section import CoilSection
from modewright.transducers.driver import (
    AT_DOC,
    OFFSET_DOC,
    DriverSpot,
    PoleFace,
    known_position_m,
    position_faults,
)
from modewright.transducers.gap import normal_displacement
from modewright.transducers.plate import disc_points

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.blank import AttachedMass
    from modewright.geometry.loop import Loop
    from modewright.materials.model import Magnetism
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.driver import SheetSpot
    from modewright.transducers.gap import BiasedGap

__all__ = ["AcousticDriver"]

_MOUTH_M = 10e-3
# Of the air; what a few kelvins change is less than what the leak is known to.
_TEMPERATURE_K = 293.15


@dataclass(frozen=True, slots=True, kw_only=True)
class AcousticDriver:
    """Driver that pushes by air."""

    kind: ClassVar[str] = "acoustic driver"

    name: str = text("Name of the driver.", default="driver")
    position_m: tuple[float, float] | None = point(
        "Place on the sheet under the centre of the mouth.", default=None
    )
    at: str = text(AT_DOC, default="")
    offset_m: tuple[float, float] = point(OFFSET_DOC, default=(0.0, 0.0))
    side: Literal["above", "below"] = choice(
        "Side of the sheet on which it stands.", ("above", "below"), default="above"
    )
    mouth_diameter_m: float | None = quantity(
        "m",
        "Inner diameter of the rim; left out, that of a disc as large as the drawn area, or 10 mm.",
        default=None,
        show="mm",
        above=0.0,
        plausible=(1e-3, 0.1),
    )
    gap_m: float = quantity(
        "m", "Air between rim and sheet.", default=0.3e-3, show="mm", above=0.0,
        plausible=(5e-5, 5e-3),
    )  # fmt: skip
    rim_width_m: float = quantity(
        "m", "How wide the rim is; the air leaks under it.", default=2e-3, show="mm", above=0.0,
        plausible=(2e-4, 0.02),
    )  # fmt: skip
    chamber_volume_m3: float = quantity(
        "m**3",
        "Air between cone and sheet.",
        default=0.3e-6,
        show="cm**3",
        above=0.0,
        plausible=(1e-9, 1e-4),
    )
    cone_area_m2: float = quantity(
        "m**2",
        "Effective area of the cone.",
        default=1.5e-4,
        show="cm**2",
        above=0.0,
        plausible=(1e-6, 0.05),
    )
    force_factor_n_per_a: float = quantity(
        "N/A", "Force on the cone per ampere, Bl.", default=0.8, above=0.0, plausible=(0.05, 30.0)
    )
    moving_mass_kg: float = quantity(
        "kg",
        "Moving mass of the cone, with the air that it carries.",
        default=0.1e-3,
        show="mg",
        above=0.0,
        plausible=(1e-6, 0.05),
    )
    resonance_hz: float = quantity(
        "Hz", "Resonance of the cone in free air.", default=500.0, above=0.0, plausible=(20.0, 5e3)
    )
    mechanical_q: float = quantity(
        "1", "Its Q with the coil open.", default=3.0, above=0.0, plausible=(0.3, 30.0)
    )
    stroke_m: float = quantity(
        "m", "Peak travel of the cone.", default=0.3e-3, show="mm", above=0.0,
        plausible=(1e-5, 0.02),
    )  # fmt: skip
    coil: CoilSection = section(
        "The winding.", CoilSection, default=CoilSection(resistance_ohm=8.0, inductance_h=0.1e-3)
    )

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the fields."""
        return position_faults(self.position_m, self.at)

    @property
    def place_m(self) -> tuple[float, float]:
        """See `modewright.transducers.driver.Driver`."""
        return known_position_m(self.name, self.position_m)

    @property
    def face_diameter_m(self) -> float:
        """Diameter of the mouth. [m]"""
        return _MOUTH_M if self.mouth_diameter_m is None else self.mouth_diameter_m

    @property
    def face(self) -> Loop:
        """See `modewright.transducers.driver.Driver`."""
        return circle(self.place_m, self.face_diameter_m)

    @property
    def parts_text(self) -> str:
        """See `modewright.transducers.driver.Driver`."""
        return f"{self.cone_area_m2 * 1e4:.3g} cm², {self.coil.parts_text}"

    def placed(self, spot: DriverSpot) -> AcousticDriver:
        """See `modewright.transducers.driver.Driver`."""
        own = self.mouth_diameter_m
        return replace(
            self,
            position_m=spot.centre_m,
            at="",
            offset_m=(0.0, 0.0),
            mouth_diameter_m=spot.diameter_m if own is None else own,
        )

    @property
    def masses(self) -> tuple[AttachedMass, ...]:
        """Nothing is fixed to the sheet."""
        return ()

    @property
    def pole_face(self) -> PoleFace | None:
        """What the air under the rim does is part of its action."""
        return None

    def biased_gap(self, shapes: ModeShapes, magnetism: Magnetism) -> BiasedGap | None:  # noqa: ARG002
        """Nothing pulls at rest, on any sheet."""
        return None

    @property
    def port(self) -> ChamberPort:
        """Coil, cone and chamber."""
        omega = 2 * np.pi * self.resonance_hz
        return ChamberPort(
            coil=self.coil.at_rest,
            force_factor_n_per_a=self.force_factor_n_per_a,
            cone=Cone(
                mass_kg=self.moving_mass_kg,
                stiffness_n_per_m=self.moving_mass_kg * omega**2,
                friction_ns_per_m=self.moving_mass_kg * omega / self.mechanical_q,
                area_m2=self.cone_area_m2,
                stroke_m=self.stroke_m,
            ),
            chamber=leaky_chamber(
                air_at(_TEMPERATURE_K),
                self.chamber_volume_m3,
                self.face_diameter_m,
                self.gap_m,
                self.rim_width_m,
            ),
            stroke_m=self.gap_m,
        )

    def action(
        self,
        shapes: ModeShapes,
        biased: BiasedGap | None,  # noqa: ARG002
        sheet: SheetSpot | None = None,  # noqa: ARG002
    ) -> CoilAction:
        """See `modewright.transducers.driver.Driver`."""
        area = disc_points(self.place_m, self.face_diameter_m / 2)
        normal = normal_displacement(self.name, shapes, area)
        return CoilAction(
            force_per_drive=self.force_factor_n_per_a * (area.weight_m2 @ normal) / area.area_m2,
            port=self.port,
            winding=self.coil,
            saturation_current_a=float("inf"),
        )
