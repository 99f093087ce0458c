"""Moving armature: an iron reed between magnets, moved by a coil around it, that drives the sheet.

It comes as a unit with figures of its own: force per ampere, moving mass, resonance and Q. Its pull
is balanced at rest; its spring, weakened by the magnets, loads the sheet. It is glued to the sheet,
or joined to it by what gives way.

References
----------
N. Kim & J. B. Allen, Two-port network analysis and modeling of a balanced armature receiver,
Hearing Research 301 (2013) 156. D. J. Ewins, Modal Testing, 2000, ch. 3.3: stingers (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np

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
from modewright.transducers.hysteresis import MOST_LAG_RAD, rayleigh_lag
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

__all__ = ["MovingArmature"]

_CONTACT_M = 1.5e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class MovingArmature:
    """Driver with an iron armature on a spring of its own."""

    kind: ClassVar[str] = "moving armature"

    name: str = text("Name of the driver.", default="driver")
    position_m: tuple[float, float] | None = point(
        "Place on the sheet at which it takes hold.", default=None
    )
    at: str = text(AT_DOC, default="")
    offset_m: tuple[float, float] = point(OFFSET_DOC, default=(0.0, 0.0))
    side: Literal["above", "below"] = choice(
        "Side of the sheet on which it stands.", ("above", "below"), default="above"
    )
    contact_diameter_m: float | None = quantity(
        "m",
        "Diameter of the glued spot; left out, that of a disc as large as the drawn area, or "
        "1.5 mm.",
        default=None,
        show="mm",
        above=0.0,
        plausible=(2e-4, 0.02),
    )
    force_factor_n_per_a: float = quantity(
        "N/A", "Force per ampere, armature held.", default=5.0, above=0.0, plausible=(0.2, 50.0)
    )
    moving_mass_kg: float = quantity(
        "kg",
        "Mass that moves, as if all of it sat where it takes hold.",
        default=0.03e-3,
        show="mg",
        above=0.0,
        plausible=(1e-6, 5e-3),
    )
    resonance_hz: float = quantity(
        "Hz",
        "Its resonance with coil open and nothing fixed to it; the magnets' pull counts in it.",
        default=1500.0,
        above=0.0,
        plausible=(50.0, 2e4),
    )
    mechanical_q: float = quantity(
        "1", "Its Q with the coil open.", default=10.0, above=0.0, plausible=(0.5, 500.0)
    )
    saturation_current_a: float | None = quantity(
        "A",
        "Peak current at which its iron saturates; left out, nothing but coil and amplifier limit "
        "it.",
        default=None,
        show="mA",
        above=0.0,
        plausible=(1e-4, 5.0),
    )
    hysteresis_lag_rad: float = quantity(
        "rad",
        "Phase by which the flux lags behind the current at `saturation_current`; below "
        "it lags less. Left at zero, it does not.",
        default=0.0,
        show="deg",
        at_least=0.0,
        below=MOST_LAG_RAD,
        plausible=(0.0, 0.35),
    )
    stroke_m: float | None = quantity(
        "m",
        "Peak travel before the armature meets a magnet; left out, nothing limits it.",
        default=None,
        show="mm",
        above=0.0,
        plausible=(5e-6, 5e-3),
    )
    attachment: Attachment | None = section(ATTACHMENT_DOC, *ATTACHMENTS, default=None)
    coil: CoilSection = section("The winding.", CoilSection, default=CoilSection())

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the fields."""
        yield from position_faults(self.position_m, self.at)
        if self.hysteresis_lag_rad > 0 and self.saturation_current_a is None:
            yield Fault(
                key="saturation_current",
                expected="the current at which the lag is as given",
                got="none",
            )

    @property
    def place_m(self) -> tuple[float, float]:
        """See `modewright.transducers.driver.Driver`."""
        return known_position_m(self.name, self.position_m)

    @property
    def face_diameter_m(self) -> float:
        """Diameter of the glued spot. [m]"""
        return _CONTACT_M if self.contact_diameter_m is None else self.contact_diameter_m

    @property
    def face(self) -> Loop:
        """See `modewright.transducers.driver.Driver`."""
        return circle(self.place_m, self.face_diameter_m)

    @property
    def parts_text(self) -> str:
        """See `modewright.transducers.driver.Driver`."""
        return self.coil.parts_text

    def placed(self, spot: DriverSpot) -> MovingArmature:
        """See `modewright.transducers.driver.Driver`."""
        own = self.contact_diameter_m
        return replace(
            self,
            position_m=spot.centre_m,
            at="",
            offset_m=(0.0, 0.0),
            contact_diameter_m=spot.diameter_m if own is None else own,
        )

    @property
    def masses(self) -> tuple[AttachedMass, ...]:
        """What moves, as a point: only the end of it turns with the sheet."""
        return (
            AttachedMass(
                centre_m=self.place_m,
                footprint_radius_m=self.face_diameter_m / 2,
                mass_kg=self.moving_mass_kg + attachment_mass_kg(self.attachment),
                height_m=0.0,
                inertia_kg_m2=(0.0, 0.0, 0.0),
                side="top" if self.side == "above" else "bottom",
            ),
        )

    @property
    def pole_face(self) -> PoleFace | None:
        """Nothing squeezes the air: the unit is closed."""
        return None

    def biased_gap(self, shapes: ModeShapes, magnetism: Magnetism) -> BiasedGap | None:  # noqa: ARG002
        """Nothing pulls at rest, on any sheet: the armature is balanced between its magnets."""
        return None

    @property
    def mover(self) -> Mover:
        """The armature on its spring and attachment."""
        omega = 2 * np.pi * self.resonance_hz
        return Mover(
            mass_kg=self.moving_mass_kg,
            stiffness_n_per_m=self.moving_mass_kg * omega**2,
            friction_ns_per_m=self.moving_mass_kg * omega / self.mechanical_q,
            link=attachment_link(self.attachment),
            stroke_m=float("inf") if self.stroke_m is None else self.stroke_m,
        )

    def action(
        self,
        shapes: ModeShapes,
        biased: BiasedGap | None,  # noqa: ARG002
        sheet: SheetSpot | None = None,  # noqa: ARG002
    ) -> CoilAction:
        """See `modewright.transducers.driver.Driver`."""
        saturation_a = (
            float("inf") if self.saturation_current_a is None else self.saturation_current_a
        )
        return plain_action(
            self,
            shapes,
            self.force_factor_n_per_a,
            saturation_current_a=saturation_a,
            mover=self.mover,
            lag=rayleigh_lag(saturation_a, self.hysteresis_lag_rad),
        )
