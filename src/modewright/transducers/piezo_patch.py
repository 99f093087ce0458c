"""Piezo ceramic glued flat to the sheet: its voltage stretches it, and the sheet bends.

Poled through its thickness, with electrodes on both faces, it wants to stretch by ``d31 E`` in all
directions of its plane (IEEE Std 176-1987, eq. 24 ff.; from memory). It stiffens and loads the
sheet; its mass is solved with the body, its stiffness is added in the modes of that body.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np

from modewright.errors import TransducerError
from modewright.geometry.blank import AttachedMass
from modewright.geometry.loop import Loop
from modewright.materials.solid import IsotropicSolid
from modewright.parameters import Fault, choice, point, quantity, section, text
from modewright.transducers.driver import (
    AT_DOC,
    OFFSET_DOC,
    DriverSpot,
    PoleFace,
    known_position_m,
    position_faults,
)
from modewright.transducers.driver_action import Heating
from modewright.transducers.hysteresis import MOST_LAG_RAD, rayleigh_lag
from modewright.transducers.patch_action import PatchAction
from modewright.transducers.patch_bending import Laminate, PatchArea, mean_curvatures

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from modewright.materials.model import Magnetism
    from modewright.modes.basis import ModeShapes
    from modewright.transducers.driver import SheetSpot
    from modewright.transducers.gap import BiasedGap

__all__ = ["Ceramic", "PiezoPatch"]

_VACUUM_F_PER_M = 8.8541878128e-12
# Discs that stand for the mass of a patch leave gaps, so that none touches another.
_DISC_SHARE = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceramic:
    """Piezo ceramic; a soft one if nothing is given (common practice)."""

    d31_m_per_v: float = quantity(
        "m/V",
        "Strain in the plane per field through the thickness, d31, without its sign.",
        default=180e-12,
        above=0.0,
        plausible=(2e-12, 4e-10),
    )
    youngs_modulus_pa: float = quantity(
        "Pa",
        "Young's modulus in the plane, electrodes joined.",
        default=62e9,
        show="GPa",
        above=0.0,
        plausible=(1e9, 2e11),
    )
    poisson_ratio: float = quantity(
        "1", "Poisson's ratio.", default=0.31, at_least=0.0, plausible=(0.2, 0.45)
    )
    density_kg_per_m3: float = quantity(
        "kg/m**3", "Density.", default=7800.0, above=0.0, plausible=(1500.0, 9e3)
    )
    relative_permittivity: float = quantity(
        "1", "Permittivity over that of vacuum.", default=1800.0, above=0.0, plausible=(5.0, 6e3)
    )
    loss_tangent: float = quantity(
        "1", "Dielectric loss, tan δ.", default=0.02, show="%", at_least=0.0, plausible=(1e-3, 0.1)
    )
    loss_factor: float = quantity(
        "1",
        "Loss factor of its stiffness, 1/Q, glue included.",
        default=0.015,
        show="%",
        at_least=0.0,
        plausible=(5e-4, 0.1),
    )
    field_limit_v_per_m: float = quantity(
        "V/m",
        "Largest field against the poling; beyond about 0.5 kV/mm soft ceramics lose it.",
        default=5e5,
        show="kV/mm",
        above=0.0,
        plausible=(1e5, 5e7),
    )
    hysteresis_lag_rad: float = quantity(
        "rad",
        "Phase by which its strain lags behind the voltage at the largest field; at less it lags "
        "less. Left at zero, it does not.",
        default=0.0,
        show="deg",
        at_least=0.0,
        below=MOST_LAG_RAD,
        plausible=(0.0, 0.35),
    )
    strain_limit: float = quantity(
        "1",
        "Largest strain that it bears; ceramics break.",
        default=5e-4,
        show="ppm",
        above=0.0,
        plausible=(1e-4, 1e-2),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PiezoPatch:
    """Driver that bends the sheet where it is glued."""

    kind: ClassVar[str] = "piezo patch"

    name: str = text("Name of the driver.", default="driver")
    position_m: tuple[float, float] | None = point(
        "Place on the sheet under the centre of the patch.", default=None
    )
    at: str = text(AT_DOC, default="")
    offset_m: tuple[float, float] = point(OFFSET_DOC, default=(0.0, 0.0))
    side: Literal["above", "below"] = choice(
        "Side of the sheet that carries it.", ("above", "below"), default="above"
    )
    length_m: float = quantity(
        "m", "Side at the angle given.", default=10e-3, show="mm", above=0.0, plausible=(1e-3, 0.2)
    )
    width_m: float = quantity(
        "m", "Other side.", default=5e-3, show="mm", above=0.0, plausible=(1e-3, 0.2)
    )
    angle_rad: float = quantity(
        "rad", "Angle of the first side from the x axis.", default=0.0, show="deg"
    )
    thickness_m: float = quantity(
        "m", "Thickness.", default=0.2e-3, show="mm", above=0.0, plausible=(2e-5, 2e-3)
    )
    ceramic: Ceramic = section("What it is made of.", Ceramic, default=Ceramic())
    lead_resistance_ohm: float = quantity(
        "ohm",
        "Resistor between amplifier and patch; amplifiers need one to bear its capacitance.",
        default=100.0,
        above=0.0,
        plausible=(1.0, 1e5),
    )
    thermal_resistance_k_per_w: float = quantity(
        "K/W",
        "Thermal resistance from patch to sheet and room.",
        default=100.0,
        above=0.0,
        plausible=(1.0, 1e3),
    )
    temperature_rise_k: float = quantity(
        "K",
        "Allowed rise of temperature.",
        default=40.0,
        above=0.0,
        plausible=(5.0, 100.0),
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
        """Diameter of the largest disc within it. [m]"""
        return min(self.length_m, self.width_m)

    @property
    def area(self) -> PatchArea:
        """Where it lies."""
        return PatchArea(
            centre_m=self.place_m,
            length_m=self.length_m,
            width_m=self.width_m,
            angle_rad=self.angle_rad,
        )

    @property
    def face(self) -> Loop:
        """See `modewright.transducers.driver.Driver`."""
        corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
        return Loop.polygon(self.area.placed_m(corners).tolist())

    @property
    def parts_text(self) -> str:
        """See `modewright.transducers.driver.Driver`."""
        size = " x ".join(
            f"{side * 1e3:.3g}" for side in (self.length_m, self.width_m, self.thickness_m)
        )
        return f"{size} mm, {self.capacitance_f * 1e9:.3g} nF"

    def placed(self, spot: DriverSpot) -> PiezoPatch:
        """See `modewright.transducers.driver.Driver`; the patch keeps its size."""
        return replace(self, position_m=spot.centre_m, at="", offset_m=(0.0, 0.0))

    @property
    def masses(self) -> tuple[AttachedMass, ...]:
        """Its mass, as discs in a row: a single one would bend a long patch no more."""
        long, short = max(self.length_m, self.width_m), min(self.length_m, self.width_m)
        count = max(1, round(long / short))
        mass_kg = self.ceramic.density_kg_per_m3 * self.area.area_m2 * self.thickness_m / count
        step_m = long / count
        middle = (np.arange(count) + 0.5) / count
        half = np.full(count, 0.5)
        is_long = self.length_m >= self.width_m
        places = self.area.placed_m(np.stack((middle, half) if is_long else (half, middle), -1))
        across = mass_kg * ((step_m**2 + short**2) / 24 + self.thickness_m**2 / 12)
        return tuple(
            AttachedMass(
                centre_m=(float(x), float(y)),
                footprint_radius_m=_DISC_SHARE * min(step_m, short) / 2,
                mass_kg=mass_kg,
                height_m=self.thickness_m / 2,
                inertia_kg_m2=(across, across, mass_kg * (step_m**2 + short**2) / 12),
                side="top" if self.side == "above" else "bottom",
            )
            for x, y in places
        )

    @property
    def pole_face(self) -> PoleFace | None:
        """Nothing squeezes the air."""
        return None

    @property
    def capacitance_f(self) -> float:
        """Of the free patch; glued it has up to a sixth less (k31², from memory). [F]"""
        permittivity = _VACUUM_F_PER_M * self.ceramic.relative_permittivity
        return permittivity * self.area.area_m2 / self.thickness_m

    def biased_gap(self, shapes: ModeShapes, magnetism: Magnetism) -> BiasedGap | None:  # noqa: ARG002
        """Nothing pulls at rest, on any sheet."""
        return None

    def action(
        self,
        shapes: ModeShapes,
        biased: BiasedGap | None,  # noqa: ARG002
        sheet: SheetSpot | None = None,
    ) -> PatchAction:
        """See `modewright.transducers.driver.Driver`.

        Raises
        ------
        TransducerError
            If the patch does not lie on the sheet all over, or is stiffer than it.
        ValueError
            If nothing is known of the sheet.
        """
        if sheet is None or sheet.solid is None:
            raise ValueError(f"{self.name}: expected a sheet of known thickness, got None")
        laminate = Laminate(
            sheet=sheet.solid,
            patch=self._solid,
            sheet_m=sheet.thickness_m,
            patch_m=self.thickness_m,
        )
        self._check_soft(laminate)
        voltage_v = self.ceramic.field_limit_v_per_m * self.thickness_m
        bent = mean_curvatures(self.name, shapes, self.area)
        moment = laminate.moment_n * self.ceramic.d31_m_per_v / self.thickness_m
        spring = laminate.added_stiffness_nm * bent.energy(self.ceramic.poisson_ratio)
        return PatchAction(
            force_per_drive=(-moment if self.side == "above" else moment) * bent.bending,
            moment_n_per_v=moment,
            spring_per_s2=np.asarray(spring * (1 + 1j * self.ceramic.loss_factor), complex),
            capacitance_f=self.capacitance_f,
            loss_tangent=self.ceramic.loss_tangent,
            lead_ohm=self.lead_resistance_ohm,
            voltage_limit_v=voltage_v,
            lag=rayleigh_lag(voltage_v, self.ceramic.hysteresis_lag_rad),
            largest_coordinate=self._largest_coordinate(laminate, bent.largest),
            heating=Heating(
                thermal_resistance_k_per_w=self.thermal_resistance_k_per_w,
                temperature_rise_k=self.temperature_rise_k,
                duty_text="for ever",
            ),
        )

    @property
    def _solid(self) -> IsotropicSolid:
        return IsotropicSolid(
            youngs_modulus_pa=self.ceramic.youngs_modulus_pa,
            poisson_ratio=self.ceramic.poisson_ratio,
            density_kg_per_m3=self.ceramic.density_kg_per_m3,
        )

    def _check_soft(self, laminate: Laminate) -> None:
        """Modes of the bare sheet cannot describe one that is several times stiffer in a place."""
        ratio = laminate.added_stiffness_nm / laminate.sheet_stiffness_nm
        if ratio > 1:
            raise TransducerError(
                f"{self.name}: expected a patch that adds no more stiffness against bending than "
                f"the sheet has, got {ratio:.3g} times as much.",
                hint="Take a thinner or softer patch, or thicker sheet.",
                key="thickness",
            )

    def _largest_coordinate(
        self, laminate: Laminate, curvature: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        with np.errstate(divide="ignore"):
            return self.ceramic.strain_limit / (laminate.outer_face_m * curvature)
