"""A cone that pushes the sheet through the air of a small chamber, as lumped elements.

Cone, chamber and the slit by which the chamber leaks are a mechanical and an acoustic circuit
joined by areas: L. L. Beranek & T. J. Mellow, Acoustics: Sound Fields, Transducers and Vibration,
ch. 3 (circuits) and ch. 4 (narrow slit: R = 12 µ l/(b g³), M = 6 ρ l/(5 b g)); both from memory.
It holds as long as the chamber is small against the wavelength.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.transducers.coil import coil_ladder, slow_apart
from modewright.transducers.stage import Stage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.materials.air import Air
    from modewright.transducers.coil import Coil

__all__ = ["ChamberPort", "Cone", "LeakyChamber", "leaky_chamber"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cone:
    """What a coil moves.

    Parameters
    ----------
    mass_kg, stiffness_n_per_m, friction_ns_per_m : float
        > 0; the load of the air outside counts in the mass. [kg], [N/m], [N s/m]
    area_m2 : float
        [m²]
    stroke_m : float
        Peak travel. [m]
    """

    mass_kg: float
    stiffness_n_per_m: float
    friction_ns_per_m: float
    area_m2: float
    stroke_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakyChamber:
    """Air between cone and sheet.

    Parameters
    ----------
    mouth_m2 : float
        Area of the sheet on which it presses. [m²]
    compliance_m3_per_pa : float
        [m³/Pa]
    leak_pa_s_per_m3, leak_kg_per_m4 : float
        Resistance and inertance of the leak, > 0. [Pa s/m³], [kg/m⁴]
    """

    mouth_m2: float
    compliance_m3_per_pa: float
    leak_pa_s_per_m3: float
    leak_kg_per_m4: float


def leaky_chamber(
    air: Air, volume_m3: float, mouth_diameter_m: float, gap_m: float, rim_m: float
) -> LeakyChamber:
    """Chamber with a round mouth close over the sheet; its air leaks under the rim.

    Parameters
    ----------
    air : Air
    volume_m3 : float
        [m³]
    mouth_diameter_m : float
        Inner diameter of the rim. [m]
    gap_m, rim_m : float
        Between rim and sheet, and how wide the rim is. [m]

    Returns
    -------
    LeakyChamber
        Ends of the slit are left out, which is right for a rim much wider than the gap.
    """
    # Across a ring the flow spreads: its resistance is that of a slit with the logarithmic mean.
    around_m = 2 * np.pi * rim_m / np.log1p(2 * rim_m / mouth_diameter_m)
    return LeakyChamber(
        mouth_m2=float(np.pi * mouth_diameter_m**2 / 4),
        compliance_m3_per_pa=volume_m3 / (air.density_kg_per_m3 * air.speed_of_sound_m_per_s**2),
        leak_pa_s_per_m3=float(12 * air.viscosity_pa_s * rim_m / (around_m * gap_m**3)),
        leak_kg_per_m4=float(6 * air.density_kg_per_m3 * rim_m / (5 * around_m * gap_m)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ChamberPort:
    """Coil, cone and chamber; see `modewright.transducers.coil_action.CoilPort`.

    Parameters
    ----------
    coil : Coil
    force_factor_n_per_a : float
        Of the coil on the cone. [N/A]
    cone : Cone
    chamber : LeakyChamber
    stroke_m : float
        Travel of the sheet until it meets the rim. [m]
    """

    coil: Coil
    force_factor_n_per_a: float
    cone: Cone
    chamber: LeakyChamber
    stroke_m: float

    @property
    def acts_by(self) -> str:
        """See `CoilPort`: the air passes a part of it on."""
        return "force on the cone"

    @property
    def holds_open(self) -> bool:
        """See `CoilPort`: the air is a spring."""
        return True

    @property
    def _states(self) -> NDArray[np.float64]:
        """Cone and air with the sheet standing still, in roots of twice the energy. [1/s]

        Speed and travel of the cone, pressure, flow through the leak.
        """
        cone, air = self.cone, self.chamber
        swing = np.sqrt(cone.stiffness_n_per_m / cone.mass_kg)
        press = cone.area_m2 / np.sqrt(cone.mass_kg * air.compliance_m3_per_pa)
        rush = 1 / np.sqrt(air.compliance_m3_per_pa * air.leak_kg_per_m4)
        rub = cone.friction_ns_per_m / cone.mass_kg
        return np.array(
            [
                [-rub, -swing, -press, 0.0],
                [swing, 0.0, 0.0, 0.0],
                [press, 0.0, 0.0, -rush],
                [0.0, 0.0, rush, -air.leak_pa_s_per_m3 / air.leak_kg_per_m4],
            ]
        )

    @property
    def mechanics(self) -> tuple[Stage, ...]:
        """Force on the sheet per force of the coil."""
        cone, air = self.cone, self.chamber
        stage = Stage(
            name="air chamber",
            zeros_rad_s=np.array([0, -air.leak_pa_s_per_m3 / air.leak_kg_per_m4], complex),
            poles_rad_s=np.linalg.eigvals(self._states).astype(np.complex128),
            gain=air.mouth_m2 * cone.area_m2 / (cone.mass_kg * air.compliance_m3_per_pa),
        )
        return (stage,)

    def stiffness_n_per_m(
        self, freq_hz: NDArray[np.float64], *, is_closed: bool
    ) -> NDArray[np.complex128]:
        """See `CoilPort`."""
        s = 2j * np.pi * np.asarray(freq_hz, dtype=np.float64)
        cone, air = self.cone, self.chamber
        held = s * cone.mass_kg + cone.friction_ns_per_m + cone.stiffness_n_per_m / s
        if is_closed:
            held = held + self.force_factor_n_per_a**2 / self.coil.impedance_ohm(freq_hz)
        leak = 1 / (air.leak_pa_s_per_m3 + s * air.leak_kg_per_m4)
        gives = s * air.compliance_m3_per_pa + leak + cone.area_m2**2 / held
        return np.asarray(s * air.mouth_m2**2 / gives, dtype=np.complex128)

    def current_stages(self) -> tuple[Stage, ...]:
        """See `CoilPort`."""
        ladder = coil_ladder(self.coil)
        count = len(ladder.rate_rad_s) + 1
        gyrator = self.force_factor_n_per_a / np.sqrt(ladder.inductance_h * self.cone.mass_kg)
        own = self._states
        matrix = np.zeros((count + 4, count + 4))
        matrix[:count, :count] = ladder.states
        matrix[count:, count:] = own
        matrix[0, count], matrix[count, 0] = -gyrator, gyrator
        return slow_apart(
            np.concatenate(
                [-ladder.rate_rad_s.astype(np.complex128), np.linalg.eigvals(own)]
            ).astype(np.complex128),
            np.linalg.eigvals(matrix).astype(np.complex128),
            1 / ladder.inductance_h,
        )

    def largest_forces_n(self, freq_hz: float) -> dict[str, float]:
        """See `CoilPort`: the cone has a stroke."""
        s = 2j * np.pi * freq_hz
        cone, air = self.cone, self.chamber
        leak = 1 / (air.leak_pa_s_per_m3 + s * air.leak_kg_per_m4)
        held = s * cone.mass_kg + cone.friction_ns_per_m + cone.stiffness_n_per_m / s
        held += cone.area_m2**2 / (s * air.compliance_m3_per_pa + leak)
        return {"stroke of the cone": float(abs(s * held)) * cone.stroke_m}

    def check_below(self, name: str, highest_hz: float) -> None:
        """See `CoilPort`: its resonances are in what the sheet feels."""
