"""A piezo patch at its operating point: its voltage makes a moment, bending makes a charge.

Of a patch of capacitance C, ``moment = T u`` and ``charge = T x + C u`` with the same T; behind a
lead of resistance R on an amplifier that rests the sheet feels ``T² s R/(1 + s R C)``, which only
takes energy (N. W. Hagood & A. von Flotow, Damping of structural vibrations with piezoelectric
materials and passive electrical networks, J. Sound Vib. 146 (1991) 243; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.checks import frozen_array
from modewright.errors import TransducerError
from modewright.transducers.electronics import CurrentAmplifier
from modewright.transducers.stage import low_pass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.driver_action import DriveUnit, Heating
    from modewright.transducers.electronics import Amplifier
    from modewright.transducers.hysteresis import RayleighLag
    from modewright.transducers.stage import Stage

__all__ = ["PatchAction"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatchAction:
    """A patch; see `modewright.transducers.driver_action.DriverAction`.

    Parameters
    ----------
    force_per_drive : float array, shape (modes,)
        Modal force per volt across it. [N/(V sqrt(kg))]
    moment_n_per_v : float
        Bending moment per length of its edge. [N/V]
    spring_per_s2 : complex array, shape (modes, modes)
        Modal stiffness that it adds to the sheet, with its loss; symmetric. [1/s²]
    capacitance_f, loss_tangent : float
        [F]
    lead_ohm : float
        In series, > 0. [ohm]
    voltage_limit_v : float
        Peak voltage that it bears. [V]
    largest_coordinate : float array, shape (modes,)
        Modal coordinate at which its strain is as large as it bears. [m sqrt(kg)]
    heating : Heating
    lag : RayleighLag or None
    """

    drive_unit: ClassVar[DriveUnit] = "V"

    force_per_drive: NDArray[np.float64]
    moment_n_per_v: float
    spring_per_s2: NDArray[np.complex128]
    capacitance_f: float
    loss_tangent: float
    lead_ohm: float
    voltage_limit_v: float
    largest_coordinate: NDArray[np.float64]
    heating: Heating
    lag: RayleighLag | None = None

    def __post_init__(self) -> None:
        for name in ("force_per_drive", "largest_coordinate"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        object.__setattr__(self, "spring_per_s2", frozen_array(self.spring_per_s2, complex))

    @property
    def acts_by(self) -> str:
        """See `DriverAction`."""
        return "bending moment per length of its edge"

    @property
    def bias_current_a(self) -> float:
        """See `DriverAction`: its force is proportional to the voltage. [A]"""
        return float("inf")

    @property
    def pushes_base(self) -> bool:
        """See `DriverAction`: its moments hold each other within the sheet."""
        return False

    @property
    def mechanics(self) -> tuple[Stage, ...]:
        """See `DriverAction`: it is part of the sheet."""
        return ()

    @property
    def force_factor_n_per_drive(self) -> float:
        """Moment per length of its edge. [N/V]"""
        return self.moment_n_per_v

    @property
    def stroke_swings(self) -> NDArray[np.float64]:
        """See `DriverAction`: ceramics break."""
        return self.largest_coordinate

    @property
    def electrical(self) -> dict[str, float]:
        """See `DriverAction`."""
        return {"capacitance_f": self.capacitance_f, "lead_resistance_ohm": self.lead_ohm}

    def check_below(self, name: str, highest_hz: float) -> None:
        """See `DriverAction`: it has no resonances of its own."""

    def reactions(
        self, freq_hz: NDArray[np.float64], *, is_closed: bool
    ) -> dict[str, NDArray[np.complex128]]:
        """See `DriverAction`: its stiffness, and the charge that bending makes."""
        s = 2j * np.pi * np.sqrt(np.outer(freq_hz, freq_hz))
        capacitance = self.capacitance_f * (1 - 1j * self.loss_tangent)
        if is_closed:
            back = s * self.lead_ohm / (1 + s * self.lead_ohm * capacitance)
        else:
            back = np.full_like(s, 1 / capacitance)
        moved = np.outer(self.force_per_drive, self.force_per_drive)
        return {"spring": self.spring_per_s2, "charge": moved * back}

    def path(self, amplifier: Amplifier) -> tuple[Stage, ...]:  # noqa: ARG002
        """See `DriverAction`: lead and capacitance."""
        return (low_pass("lead", 1 / (self.lead_ohm * self.capacitance_f)),)

    def largest_drives(self, name: str, amplifier: Amplifier, freq_hz: float) -> dict[str, float]:
        """See `DriverAction`.

        Raises
        ------
        TransducerError
            On a current amplifier, whose smallest offset would charge the patch for ever.
        """
        if isinstance(amplifier, CurrentAmplifier):
            raise TransducerError(
                f"{name}: expected a voltage amplifier behind a piezo patch, got a current "
                "amplifier, whose least offset would charge it for ever.",
                hint='Set kind = "voltage" in [electronics.amplifier].',
                key="kind",
            )
        warmest_w = self.heating.temperature_rise_k / self.heating.thermal_resistance_k_per_w
        return {
            "amplifier": amplifier.limit / self.command_per_drive(amplifier, freq_hz),
            "heat": float(np.sqrt(warmest_w / self.cold_heat_w(np.array([freq_hz]))[0])),
            "field": self.voltage_limit_v,
        }

    def command_per_drive(self, amplifier: Amplifier, freq_hz: float) -> float:  # noqa: ARG002
        """See `DriverAction`."""
        return float(abs(1 + 2j * np.pi * freq_hz * self.lead_ohm * self.capacitance_f))

    def heat_w(self, drive: float, freq_hz: float) -> float:
        """See `DriverAction`; that the loss grows with field and warmth is left out."""
        return float(self.cold_heat_w(np.array([freq_hz]))[0]) * drive**2

    def cold_heat_w(self, freq_hz: NDArray[np.float64]) -> NDArray[np.float64]:
        """See `DriverAction`: ω C tan δ/2."""
        return np.pi * np.asarray(freq_hz) * self.capacitance_f * self.loss_tangent

    def warm_change(self, amplifier: Amplifier, freq_hz: float) -> complex:  # noqa: ARG002
        """See `DriverAction`: none that is known here."""
        return 1.0 + 0j

    def current_a(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """See `DriverAction`: through its capacitance."""
        s = 2j * np.pi * np.asarray(freq_hz)
        current = s * self.capacitance_f * (1 - 1j * self.loss_tangent)
        return np.asarray(current, dtype=np.complex128)

    def voltage_v(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """See `DriverAction`: its drive."""
        return np.ones(np.shape(freq_hz), dtype=np.complex128)
