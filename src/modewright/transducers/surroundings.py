"""The ``[surroundings]`` section: what of the room and the supplies reaches the pickup.

Fields and voltages are root mean square. What is left out is not judged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from modewright.parameters import quantity

__all__ = ["Surroundings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """Mains, ripple and stray coupling that the pickup hears besides the body."""

    mains_freq_hz: float = quantity(
        "Hz", "Frequency of the mains.", default=50.0, above=0.0, plausible=(16.0, 400.0)
    )
    electric_field_v_per_m: float | None = quantity(
        "V/m",
        "Electric field of the mains at the pickup, rms.",
        default=None,
        at_least=0.0,
        plausible=(0.01, 1e4),
    )
    exposed_area_m2: float | None = quantity(
        "m**2",
        "Area of plate, lead and input that sees this field; that of the plate if left out.",
        default=None,
        show="mm**2",
        above=0.0,
        plausible=(1e-7, 1e-2),
    )
    electric_shield_db: float = quantity(
        "dB", "What a shield takes off that field.", default=0.0, at_least=0.0, at_most=120.0
    )
    magnetic_field_t: float | None = quantity(
        "T",
        "Magnetic field of the mains at the pickup, rms.",
        default=None,
        show="uT",
        at_least=0.0,
        plausible=(1e-9, 1e-2),
    )
    lead_loop_area_m2: float | None = quantity(
        "m**2",
        "Area between the lead and its way back.",
        default=None,
        show="mm**2",
        at_least=0.0,
        plausible=(1e-8, 1e-2),
    )
    ripple_v: float | None = quantity(
        "V",
        "Ripple of the bias supply, rms.",
        default=None,
        show="mV",
        at_least=0.0,
        plausible=(1e-6, 10.0),
    )
    ripple_freq_hz: float | None = quantity(
        "Hz",
        "Frequency of the ripple; twice the mains, as of a full-wave rectifier, if left out.",
        default=None,
        above=0.0,
        plausible=(10.0, 1e6),
    )
    ripple_filter_corner_hz: float | None = quantity(
        "Hz",
        "Corner of an RC filter between supply and bias resistor; none if left out.",
        default=None,
        above=0.0,
        plausible=(1e-3, 1e3),
    )
    feedthrough_capacitance_f: float | None = quantity(
        "F",
        "Capacitance from the driver's winding to the plate; estimated if left out.",
        default=None,
        show="pF",
        at_least=0.0,
        plausible=(1e-18, 1e-10),
    )
    mutual_inductance_h: float | None = quantity(
        "H",
        "Mutual inductance of the driver's winding and the lead; estimated from the area of the "
        "lead and the turns if left out.",
        default=None,
        show="nH",
        at_least=0.0,
        plausible=(1e-15, 1e-3),
    )
    dummy_misfit: float = quantity(
        "1",
        "By how much a dummy electrode that is subtracted hears a disturbance otherwise than "
        "the plate.",
        default=0.05,
        at_least=0.0,
        at_most=1.0,
    )
    cancellation_misfit: float = quantity(
        "1",
        "Error in size of the feedthrough that the loop subtracts.",
        default=0.05,
        at_least=0.0,
        at_most=1.0,
    )
    cancellation_phase_error_rad: float = quantity(
        "rad",
        "Error in phase of the feedthrough that the loop subtracts.",
        default=0.05,
        at_least=0.0,
        at_most=np.pi,
    )

    @property
    def ripple_at_hz(self) -> float:
        """Frequency of the ripple. [Hz]"""
        return 2 * self.mains_freq_hz if self.ripple_freq_hz is None else self.ripple_freq_hz

    @property
    def cancellation_residue(self) -> float:
        """What subtraction by the loop leaves: |1 - (1 + ε) exp(jφ)|, a share."""
        copy = (1 + self.cancellation_misfit) * np.exp(1j * self.cancellation_phase_error_rad)
        return float(np.abs(1 - copy))
