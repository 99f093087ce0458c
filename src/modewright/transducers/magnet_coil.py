"""Small magnet glued to the sheet over a coil without iron, for sheet of any metal.

Without iron nothing pulls at rest and nothing saturates. The force goes as the current; that it
also changes with the distance, and that the field drives currents in the sheet itself, is left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np

from modewright.errors import TransducerError
from modewright.geometry.blank import AttachedMass
from modewright.geometry.corners import circle
from modewright.parameters import Fault, choice, count, point, quantity, section, text
from modewright.transducers.coaxial import RingCoil, RoundMagnet, force_factor_n_per_a
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

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.loop import Loop
    from modewright.materials.model import Magnetism
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.coil_action import CoilAction
    from modewright.transducers.driver import SheetSpot
    from modewright.transducers.gap import BiasedGap

__all__ = ["GluedMagnet", "MagnetAndCoil"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GluedMagnet:
    """Disc magnet on the sheet, magnetised through its thickness."""

    diameter_m: float = quantity(
        "m", "Diameter.", default=3e-3, show="mm", above=0.0, plausible=(5e-4, 0.02)
    )
    thickness_m: float = quantity(
        "m", "Thickness.", default=1e-3, show="mm", above=0.0, plausible=(2e-4, 0.01)
    )
    remanence_t: float = quantity(
        "T",
        "Remanence; neodymium about 1.2 T, samarium-cobalt 1.0 T, hard ferrite 0.4 T (common "
        "practice).",
        default=1.2,
        above=0.0,
        plausible=(0.2, 1.5),
    )
    density_kg_per_m3: float = quantity(
        "kg/m**3", "Density.", default=7500.0, above=0.0, plausible=(4e3, 9e3)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetAndCoil:
    """Driver with a magnet on the sheet and a coil without iron that stands still."""

    kind: ClassVar[str] = "magnet and air coil"

    name: str = text("Name of the driver.", default="driver")
    position_m: tuple[float, float] | None = point(
        "Place on the sheet under the centre of the magnet.", default=None
    )
    at: str = text(AT_DOC, default="")
    offset_m: tuple[float, float] = point(OFFSET_DOC, default=(0.0, 0.0))
    side: Literal["above", "below"] = choice(
        "Side of the sheet on which magnet and coil are.", ("above", "below"), default="above"
    )
    magnet: GluedMagnet = section("The magnet.", GluedMagnet, default=GluedMagnet())
    gap_m: float = quantity(
        "m",
        "Air between magnet and coil.",
        default=1e-3,
        show="mm",
        above=0.0,
        plausible=(1e-4, 0.01),
    )
    inner_diameter_m: float = quantity(
        "m",
        "Inner diameter of the winding.",
        default=2e-3,
        show="mm",
        above=0.0,
        plausible=(2e-4, 0.05),
    )
    outer_diameter_m: float = quantity(
        "m",
        "Outer diameter of the winding.",
        default=10e-3,
        show="mm",
        above=0.0,
        plausible=(1e-3, 0.1),
    )
    length_m: float = quantity(
        "m",
        "Length of the winding along its axis.",
        default=6e-3,
        show="mm",
        above=0.0,
        plausible=(2e-4, 0.05),
    )
    turns: int = count("Turns of the coil.", default=500, at_least=1)
    coil: CoilSection = section("The winding.", CoilSection, default=CoilSection())

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the fields."""
        yield from position_faults(self.position_m, self.at)
        if self.outer_diameter_m <= self.inner_diameter_m:
            yield Fault(
                key="outer_diameter",
                expected=f"more than the inner diameter, {self.inner_diameter_m * 1e3:.4g} mm",
                got=f"{self.outer_diameter_m * 1e3:.4g} mm",
            )

    @property
    def place_m(self) -> tuple[float, float]:
        """See `modewright.transducers.driver.Driver`."""
        return known_position_m(self.name, self.position_m)

    @property
    def face_diameter_m(self) -> float:
        """Diameter of the magnet. [m]"""
        return self.magnet.diameter_m

    @property
    def face(self) -> Loop:
        """See `modewright.transducers.driver.Driver`."""
        return circle(self.place_m, self.face_diameter_m)

    @property
    def parts_text(self) -> str:
        """See `modewright.transducers.driver.Driver`."""
        return self.coil.parts_text

    def placed(self, spot: DriverSpot) -> MagnetAndCoil:
        """See `modewright.transducers.driver.Driver`; the magnet keeps its size."""
        return replace(self, position_m=spot.centre_m, at="", offset_m=(0.0, 0.0))

    @property
    def masses(self) -> tuple[AttachedMass, ...]:
        """The magnet."""
        radius, thickness = self.magnet.diameter_m / 2, self.magnet.thickness_m
        mass_kg = self.magnet.density_kg_per_m3 * np.pi * radius**2 * thickness
        across = mass_kg * (3 * radius**2 + thickness**2) / 12
        return (
            AttachedMass(
                centre_m=self.place_m,
                footprint_radius_m=radius,
                mass_kg=mass_kg,
                height_m=thickness / 2,
                inertia_kg_m2=(across, across, mass_kg * radius**2 / 2),
                side="top" if self.side == "above" else "bottom",
            ),
        )

    @property
    def pole_face(self) -> PoleFace | None:
        """The end of the winding is taken as open to the air."""
        return None

    def check_sheet(self, magnetism: Magnetism) -> None:
        """Refuse iron, which would turn the field of the magnet round.

        Raises
        ------
        TransducerError
        """
        if magnetism == "ferromagnetic":
            raise TransducerError(
                f"{self.name}: expected a sheet without iron under the magnet, got a "
                "ferromagnetic one.",
                hint="Use a biased electromagnet, which pulls on the sheet itself.",
            )

    def biased_gap(self, shapes: ModeShapes, magnetism: Magnetism) -> BiasedGap | None:  # noqa: ARG002
        """Nothing pulls at rest: the coil has no iron, and the magnet rides on the sheet.

        Raises
        ------
        TransducerError
            If the sheet is iron.
        """
        self.check_sheet(magnetism)
        return None

    @property
    def force_factor_n_per_a(self) -> float:
        """Force per ampere at rest. [N/A]"""
        return force_factor_n_per_a(
            RoundMagnet(
                radius_m=self.magnet.diameter_m / 2,
                length_m=self.magnet.thickness_m,
                remanence_t=self.magnet.remanence_t,
            ),
            RingCoil(
                inner_radius_m=self.inner_diameter_m / 2,
                outer_radius_m=self.outer_diameter_m / 2,
                length_m=self.length_m,
                turns=self.turns,
            ),
            self.gap_m,
        )

    def action(
        self,
        shapes: ModeShapes,
        biased: BiasedGap | None,  # noqa: ARG002
        sheet: SheetSpot | None = None,  # noqa: ARG002
    ) -> CoilAction:
        """See `modewright.transducers.driver.Driver`."""
        return plain_action(self, shapes, self.force_factor_n_per_a)
