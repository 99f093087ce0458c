"""Electromagnet with a permanent bias that pulls on a ferromagnetic spot of the sheet.

The magnetomotive force of magnet and coil drives flux across the air gap and, in series, across a
length that stands for magnet and iron. The pull ``∫ B² dA/(2 µ0)`` follows from the co-energy of
that gap; the bias makes it linear in the current. What the current's own square adds is told as a
second harmonic, not simulated, and so is the lag of the iron. Fringing is left out.

References
----------
Woodson & Melcher, Electromechanical Dynamics, 1968, ch. 3; Fitzgerald, Kingsley & Umans, Electric
Machinery, ch. 3.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np

from modewright.errors import TransducerError
from modewright.geometry.blank import AttachedMass
from modewright.geometry.corners import circle
from modewright.parameters import Fault, choice, count, point, quantity, section, text
from modewright.transducers.coil import Coil
from modewright.transducers.coil_action import CoilAction
from modewright.transducers.coil_section import CoilSection
from modewright.transducers.driver import (
    AT_DOC,
    OFFSET_DOC,
    DriverSpot,
    PoleFace,
    SheetSpot,
    known_position_m,
    position_faults,
)
from modewright.transducers.gap import MU_0, BiasedGap, Gap, normal_displacement
from modewright.transducers.hysteresis import MOST_LAG_RAD, rayleigh_lag
from modewright.transducers.mover import TwoPort
from modewright.transducers.plate import disc_points

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.geometry.loop import Loop
    from modewright.materials.model import Magnetism
    from modewright.modes.basis import ModeShapes

__all__ = ["Armature", "BiasedElectromagnet"]

_POLE_DIAMETER_M = 6e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Armature:
    """Soft-iron disc glued to the sheet under the pole."""

    diameter_m: float = quantity(
        "m", "Diameter of the disc.", show="mm", above=0.0, plausible=(1e-3, 0.03)
    )
    thickness_m: float = quantity(
        "m", "Thickness of the disc.", show="mm", above=0.0, plausible=(1e-4, 5e-3)
    )
    density_kg_per_m3: float = quantity(
        "kg/m**3", "Density of the iron.", default=7870.0, above=0.0, plausible=(5e3, 9e3)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class BiasedElectromagnet:
    """Driver that pulls on iron: pole piece, permanent bias and coil."""

    kind: ClassVar[str] = "biased electromagnet"

    name: str = text("Name of the driver.", default="driver")
    position_m: tuple[float, float] | None = point(
        "Place on the sheet under the centre of the pole.", default=None
    )
    at: str = text(AT_DOC, default="")
    offset_m: tuple[float, float] = point(OFFSET_DOC, default=(0.0, 0.0))
    side: Literal["above", "below"] = choice(
        "Side of the sheet on which the pole stands.", ("above", "below"), default="above"
    )
    pole_diameter_m: float | None = quantity(
        "m",
        "Diameter of the pole face; left out, that of a disc as large as the drawn area, or 6 mm.",
        default=None,
        show="mm",
        above=0.0,
        plausible=(1e-3, 0.05),
    )
    gap_m: float = quantity(
        "m",
        "Air gap between pole and iron, before the pull closes it.",
        default=1e-3,
        show="mm",
        above=0.0,
        plausible=(1e-4, 5e-3),
    )
    iron_gap_m: float = quantity(
        "m",
        "Length of air under the pole with the reluctance of magnet and iron in series: the length "
        "of the magnet over its recoil permeability (about 1.05; hard ferrite 1.1), times the area "
        "of the pole over that of the magnet, and what joints and the way back add.",
        show="mm",
        at_least=0.0,
        plausible=(2e-4, 0.02),
    )
    bias_flux_density_t: float = quantity(
        "T",
        "Flux density in that gap without current.",
        default=0.1,
        at_least=0.0,
        plausible=(0.01, 1.0),
    )
    saturation_flux_density_t: float = quantity(
        "T",
        "Flux density at which pole or disc gives out; a sheet under a bare pole gives out at that "
        "of its material.",
        default=1.2,
        above=0.0,
        plausible=(0.2, 2.4),
    )
    hysteresis_lag_rad: float = quantity(
        "rad",
        "Phase by which the flux lags behind the current at the largest that iron allows; below "
        "it lags less. Left at zero, it does not.",
        default=0.0,
        show="deg",
        at_least=0.0,
        below=MOST_LAG_RAD,
        plausible=(0.0, 0.35),
    )
    turns: int = count("Turns of the coil.", default=500, at_least=1)
    coil: CoilSection = section("The winding.", CoilSection, default=CoilSection())
    armature: Armature | None = section(
        "Iron disc glued to the sheet; needed unless the sheet itself is ferromagnetic.",
        Armature,
        default=None,
    )

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the fields."""
        yield from position_faults(self.position_m, self.at)
        if self.bias_flux_density_t >= self._flux_limit_t:
            yield Fault(
                key="bias_flux_density",
                expected=f"less than {self._flux_limit_t:.3g} T, at which pole or disc saturates",
                got=f"{self.bias_flux_density_t:.3g} T",
                hint="Weaken the bias or use a thicker disc.",
            )

    @property
    def place_m(self) -> tuple[float, float]:
        """See `modewright.transducers.driver.Driver`."""
        return known_position_m(self.name, self.position_m)

    @property
    def face(self) -> Loop:
        """See `modewright.transducers.driver.Driver`."""
        return circle(self.place_m, self.face_diameter_m)

    @property
    def parts_text(self) -> str:
        """See `modewright.transducers.driver.Driver`."""
        return self.coil.parts_text

    def placed(self, spot: DriverSpot) -> BiasedElectromagnet:
        """See `modewright.transducers.driver.Driver`."""
        diameter = self.pole_diameter_m if self.pole_diameter_m is not None else spot.diameter_m
        return replace(
            self, position_m=spot.centre_m, at="", offset_m=(0.0, 0.0), pole_diameter_m=diameter
        )

    @property
    def _flux_limit_t(self) -> float:
        """Flux density in the gap at which the first iron saturates. [T]"""
        if self.armature is None:
            return self.saturation_flux_density_t
        return self.saturation_flux_density_t / self._crowding(self.armature.thickness_m)

    def _crowding(self, thickness_m: float) -> float:
        """Largest flux density in iron that faces the pole, over that in the gap.

        The flux of the face passes sideways through the rim of the disc under it: B π r² through
        2 π r t.
        """
        return max(1.0, self.face_diameter_m / (4 * thickness_m))

    @property
    def face_diameter_m(self) -> float:
        """Diameter of the pole, or of the disc if that is smaller. [m]"""
        disc_m = np.inf if self.armature is None else self.armature.diameter_m
        return min(self._pole_m, disc_m)

    @property
    def _pole_m(self) -> float:
        return _POLE_DIAMETER_M if self.pole_diameter_m is None else self.pole_diameter_m

    @property
    def bias_a(self) -> float:
        """Magnetomotive force of the magnet. [A]"""
        return self.bias_flux_density_t * (self.gap_m + self.iron_gap_m) / MU_0

    @property
    def masses(self) -> tuple[AttachedMass, ...]:
        """The glued disc, if any."""
        if self.armature is None:
            return ()
        radius, thickness = self.armature.diameter_m / 2, self.armature.thickness_m
        mass_kg = self.armature.density_kg_per_m3 * np.pi * radius**2 * thickness
        across = mass_kg * (3 * radius**2 + thickness**2) / 12
        disc = AttachedMass(
            centre_m=self.place_m,
            footprint_radius_m=radius,
            mass_kg=mass_kg,
            height_m=thickness / 2,
            inertia_kg_m2=(across, across, mass_kg * radius**2 / 2),
            side="top" if self.side == "above" else "bottom",
        )
        return (disc,)

    @property
    def pole_face(self) -> PoleFace:
        """See `modewright.transducers.driver.Driver`."""
        return PoleFace(
            centre_m=self.place_m,
            diameter_m=self.face_diameter_m,
            pole_diameter_m=self._pole_m,
            gap_m=self.gap_m,
            is_above=self.side == "above",
            faces_armature=self.armature is not None,
        )

    def check_sheet(self, magnetism: Magnetism) -> None:
        """See `modewright.transducers.driver.Choosy`."""
        if self.armature is None and magnetism != "ferromagnetic":
            raise TransducerError(
                f"{self.name}: expected iron under the pole, got a {magnetism} sheet and no "
                "armature.",
                hint="Glue an iron disc or a small magnet to the sheet (armature), or use a moving "
                "coil.",
                key="armature",
            )

    def biased_gap(self, shapes: ModeShapes, magnetism: Magnetism) -> BiasedGap:
        """See `modewright.transducers.driver.Driver`."""
        self.check_sheet(magnetism)
        if self.bias_flux_density_t == 0:
            raise TransducerError(
                f"{self.name}: expected a bias flux, got none: an unbiased electromagnet pulls at "
                "twice the frequency of its current and not at that frequency.",
                hint="Set bias_flux_density, such as 0.1 T.",
                key="bias_flux_density",
            )
        return BiasedGap(
            name=self.name,
            gap=self.magnetic_gap(shapes),
            bias=self.bias_a,
            key="bias_flux_density",
        )

    def magnetic_gap(self, shapes: ModeShapes) -> Gap:
        """Gap under the pole at the unbent position, with the iron's share added.

        Returns
        -------
        Gap
            Its permeance is the magnetic one. [H]
        """
        area = disc_points(self.place_m, self.face_diameter_m / 2)
        away = -1.0 if self.side == "above" else 1.0
        return Gap(
            weight_m2=area.weight_m2,
            gap_m=np.full(len(area.weight_m2), self.gap_m + self.iron_gap_m),
            opening=away * normal_displacement(self.name, shapes, area),
            per_m=MU_0,
            filled_m=self.iron_gap_m,
        )

    def action(
        self,
        shapes: ModeShapes,  # noqa: ARG002
        biased: BiasedGap | None,
        sheet: SheetSpot | None = None,
    ) -> CoilAction:
        """See `modewright.transducers.driver.Driver`.

        Raises
        ------
        ValueError
            If no gap is given.
        """
        if biased is None:
            raise ValueError(f"{self.name}: expected the gap at the operating point, got None")
        ampere_turns = self.turns * biased.bias
        gap_m = biased.gap.gap_m
        limit_t = self._flux_limit_t
        if sheet is not None and self.armature is None:
            limit_t = min(limit_t, sheet.saturation_t / self._crowding(sheet.thickness_m))
        flux_limit_a = limit_t * float(gap_m.min()) / MU_0 - biased.bias
        coil = Coil(
            resistance_ohm=self.coil.resistance_ohm,
            inductance_h=self.coil.inductance_h + self.turns**2 * biased.gap.permeance,
            semi_inductance_ohm_per_rthz=self.coil.semi_inductance_ohm_per_rthz,
        )
        saturation_a = max(0.0, min(flux_limit_a, biased.bias)) / self.turns
        return CoilAction(
            force_per_drive=ampere_turns * biased.gap.slope,
            port=TwoPort(
                coil=coil,
                force_factor_n_per_a=-ampere_turns * biased.gap.even_lift[0],
                mover=None,
            ),
            winding=self.coil,
            saturation_current_a=saturation_a,
            lag=rayleigh_lag(saturation_a, self.hysteresis_lag_rad),
            bias_current_a=biased.bias / self.turns,
        )
