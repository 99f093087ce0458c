"""Moving armature: an iron reed between magnets, moved by a coil around it, that drives the sheet.

It comes as a unit with figures of its own: force per ampere, moving mass, resonance and Q. Its pull
is balanced at rest; its spring, weakened by the magnets, loads the sheet. It is glued to the sheet
or reaches it through a thin rod, stiff along itself and soft across (a stinger).

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
from modewright.parameters import Fault, choice, point, quantity, section, text
from modewright.transducers.driver import (
    AT_DOC,
    OFFSET_DOC,
    CoilSection,
    DriverAction,
    DriverSpot,
    PoleFace,
    known_position_m,
    plain_action,
    position_faults,
)
from modewright.transducers.mover import Mover, Stinger

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.materials.model import Magnetism
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.driver import SheetIron
    from modewright.transducers.gap import BiasedGap

__all__ = ["MovingArmature", "StingerSection"]

_CONTACT_M = 1.5e-3
# Real rods are neither straight nor loaded along their middle.
_STINGER_SAFETY = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StingerSection:
    """Thin rod between a moving part and the sheet."""

    diameter_m: float = quantity(
        "m", "Diameter of the rod.", show="mm", above=0.0, plausible=(0.05e-3, 3e-3)
    )
    length_m: float = quantity(
        "m", "Free length of the rod.", show="mm", above=0.0, plausible=(1e-3, 0.1)
    )
    youngs_modulus_pa: float = quantity(
        "Pa",
        "Young's modulus of the rod; that of steel if left out.",
        default=200e9,
        show="GPa",
        above=0.0,
        plausible=(1e9, 5e11),
    )
    loss_factor: float = quantity(
        "1",
        "Loss factor of the rod and its glued ends.",
        default=0.02,
        at_least=0.0,
        plausible=(1e-4, 0.5),
    )

    @property
    def stiffness_n_per_m(self) -> float:
        """Along the rod, E A/l. [N/m]"""
        return self.youngs_modulus_pa * np.pi * self.diameter_m**2 / (4 * self.length_m)

    @property
    def buckling_n(self) -> float:
        """Push at which the rod gives way sideways, its ends free to slide across. [N]

        Euler's load π² E I/l² of a rod whose ends do not turn but may shift (Timoshenko & Gere,
        Theory of Elastic Stability, ch. 2).
        """
        second_moment_m4 = np.pi * self.diameter_m**4 / 64
        return np.pi**2 * self.youngs_modulus_pa * second_moment_m4 / self.length_m**2


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
    stinger: StingerSection | None = section(
        "Rod between armature and sheet; glued straight to it if left out.",
        StingerSection,
        default=None,
    )
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
        """Diameter of the glued spot. [m]"""
        return _CONTACT_M if self.contact_diameter_m is None else self.contact_diameter_m

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
        """The moving mass, a point: what turns with the sheet is the end of a thin rod."""
        return (
            AttachedMass(
                centre_m=self.place_m,
                footprint_radius_m=self.face_diameter_m / 2,
                mass_kg=self.moving_mass_kg,
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
        """The armature on its spring and stinger."""
        omega = 2 * np.pi * self.resonance_hz
        stinger = None
        if self.stinger is not None:
            stiffness = self.stinger.stiffness_n_per_m
            # The loss factor holds at the resonance of the armature on the rod.
            swing = float(np.sqrt(stiffness / self.moving_mass_kg + omega**2))
            stinger = Stinger(
                stiffness_n_per_m=stiffness,
                friction_ns_per_m=self.stinger.loss_factor * stiffness / swing,
                largest_push_n=self.stinger.buckling_n / _STINGER_SAFETY,
            )
        return Mover(
            mass_kg=self.moving_mass_kg,
            stiffness_n_per_m=self.moving_mass_kg * omega**2,
            friction_ns_per_m=self.moving_mass_kg * omega / self.mechanical_q,
            stinger=stinger,
        )

    def action(
        self,
        shapes: ModeShapes,
        biased: BiasedGap | None,  # noqa: ARG002
        sheet: SheetIron | None = None,  # noqa: ARG002
    ) -> DriverAction:
        """See `modewright.transducers.driver.Driver`."""
        return plain_action(
            self,
            shapes,
            self.force_factor_n_per_a,
            saturation_current_a=(
                float("inf") if self.saturation_current_a is None else self.saturation_current_a
            ),
            mover=self.mover,
        )
