"""Drivers whose force is made by the current of a coil, at their operating point."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar, Protocol

import numpy as np

from modewright.checks import frozen_array
from modewright.errors import TransducerError
from modewright.transducers.electronics import CurrentAmplifier
from modewright.transducers.gap import normal_displacement
from modewright.transducers.heat import heat_limited_current_a, sine_power_w, warm_resistance_ohm
from modewright.transducers.mover import TwoPort
from modewright.transducers.plate import disc_points

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.basis import ModeShapes
    from modewright.transducers.coil import Coil
    from modewright.transducers.coil_section import CoilSection
    from modewright.transducers.driver_action import DriveUnit, Heating
    from modewright.transducers.electronics import Amplifier
    from modewright.transducers.hysteresis import RayleighLag
    from modewright.transducers.mover import Mover
    from modewright.transducers.stage import Stage

__all__ = ["CoilAction", "CoilPort", "plain_action"]


class CoilPort(Protocol):
    """A coil and what it moves, seen from both of its ports."""

    @property
    def coil(self) -> Coil:
        """With all its inductance."""
        ...

    @property
    def force_factor_n_per_a(self) -> float:
        """Force of the coil per ampere, > 0. [N/A]"""
        ...

    @property
    def acts_by(self) -> str:
        """Whose force that is: ``force on the sheet``, unless something lies between."""
        ...

    @property
    def mechanics(self) -> tuple[Stage, ...]:
        """Force on a sheet that stands still per force of the coil."""
        ...

    @property
    def holds_open(self) -> bool:
        """Whether the sheet feels it with the coil open, besides its rigid mass."""
        ...

    @property
    def stroke_m(self) -> float:
        """Largest travel of the sheet that it allows. [m]"""
        ...

    def stiffness_n_per_m(
        self, freq_hz: NDArray[np.float64], *, is_closed: bool
    ) -> NDArray[np.complex128]:
        """Dynamic stiffness at its place, the coil closed without resistance or open. [N/m]"""
        ...

    def current_stages(self) -> tuple[Stage, ...]:
        """Current per volt with the sheet standing still. [A/V]"""
        ...

    def largest_forces_n(self, freq_hz: float) -> dict[str, float]:
        """Peak force of the coil that each part bears, by cause. [N]"""
        ...

    def check_below(self, name: str, highest_hz: float) -> None:
        """See `modewright.transducers.driver_action.DriverAction`."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoilAction:
    """A driver with a coil; see `modewright.transducers.driver_action.DriverAction`.

    Parameters
    ----------
    force_per_drive : float array, shape (modes,)
        Modal force per coil current. [N/(A sqrt(kg))]
    port : CoilPort
        Coil, with all its inductance, and what it moves.
    winding : CoilSection
        What it bears.
    saturation_current_a : float
        Peak current at which the iron saturates or the flux reverses; infinite without iron. [A]
    bias_current_a : float
        Current that would make the flux of the bias; infinite if the force is proportional to the
        current. [A]
    lag : RayleighLag or None
        Of the iron.
    """

    drive_unit: ClassVar[DriveUnit] = "A"

    force_per_drive: NDArray[np.float64]
    port: CoilPort
    winding: CoilSection
    saturation_current_a: float
    bias_current_a: float = float("inf")
    lag: RayleighLag | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "force_per_drive", frozen_array(self.force_per_drive))

    @property
    def acts_by(self) -> str:
        """See `DriverAction`."""
        return self.port.acts_by

    @property
    def coil(self) -> Coil:
        """With all its inductance."""
        return self.port.coil

    @property
    def force_factor_n_per_drive(self) -> float:
        """Force of the coil per ampere. [N/A]"""
        return self.port.force_factor_n_per_a

    @property
    def pushes_base(self) -> bool:
        """See `DriverAction`: coil and magnet are one on the sheet, one on the base."""
        return True

    @property
    def mechanics(self) -> tuple[Stage, ...]:
        """See `DriverAction`."""
        return self.port.mechanics

    @property
    def _lift(self) -> NDArray[np.float64]:
        """Displacement of the driven place per modal coordinate. [1/sqrt(kg)]"""
        return self.force_per_drive / self.port.force_factor_n_per_a

    @property
    def heating(self) -> Heating:
        """See `DriverAction`."""
        return self.winding.heating

    @property
    def electrical(self) -> dict[str, float]:
        """See `DriverAction`."""
        return {
            "resistance_ohm": self.coil.resistance_ohm,
            "inductance_h": self.coil.inductance_h,
        }

    @property
    def stroke_swings(self) -> NDArray[np.float64]:
        """Largest modal coordinate that the moving part allows each mode alone. [m sqrt(kg)]"""
        with np.errstate(divide="ignore"):
            return self.port.stroke_m / np.abs(self._lift)

    def check_below(self, name: str, highest_hz: float) -> None:
        """See `DriverAction`."""
        self.port.check_below(name, highest_hz)

    def reactions(
        self, freq_hz: NDArray[np.float64], *, is_closed: bool
    ) -> dict[str, NDArray[np.complex128]]:
        """See `DriverAction`: what it does with the coil open, and the current motion makes."""
        lift = np.outer(self._lift, self._lift)
        between = np.sqrt(np.outer(freq_hz, freq_hz))
        spring = self.port.stiffness_n_per_m(between, is_closed=False)
        found: dict[str, NDArray[np.complex128]] = {}
        if self.port.holds_open:
            found["spring"] = lift * spring
        if is_closed:
            both = self.port.stiffness_n_per_m(between, is_closed=True)
            found["back-EMF"] = lift * (both - spring)
        return found

    def path(self, amplifier: Amplifier) -> tuple[Stage, ...]:
        """See `DriverAction`."""
        return () if isinstance(amplifier, CurrentAmplifier) else self.port.current_stages()

    def largest_drives(self, name: str, amplifier: Amplifier, freq_hz: float) -> dict[str, float]:
        """See `DriverAction`.

        Raises
        ------
        TransducerError
            If the iron is saturated by the bias alone.
        """
        winding = self.winding
        warm_ohm = warm_resistance_ohm(winding.resistance_ohm, winding.temperature_rise_k)
        causes = {
            "amplifier": amplifier.limit / self.command_per_drive(amplifier, freq_hz),
            "heat": heat_limited_current_a(
                warm_ohm, winding.peak_thermal_resistance_k_per_w, winding.temperature_rise_k
            ),
            "magnetic flux": self.saturation_current_a,
        }
        if winding.current_limit_a is not None:
            causes["current limit"] = winding.current_limit_a
        for cause, force_n in self.port.largest_forces_n(freq_hz).items():
            causes[cause] = force_n / self.port.force_factor_n_per_a
        if self.saturation_current_a <= 0:
            raise TransducerError(
                f"{name}: expected iron that can carry more flux than the bias, got none left at "
                "the operating point.",
                hint="Weaken the bias, or use a thicker armature or sheet.",
                key="bias_flux_density",
            )
        return causes

    def command_per_drive(self, amplifier: Amplifier, freq_hz: float) -> float:
        """See `DriverAction`."""
        if isinstance(amplifier, CurrentAmplifier):
            return 1.0
        return float(np.abs(self.coil.impedance_ohm(np.array([freq_hz])))[0])

    def heat_w(self, drive: float, freq_hz: float) -> float:  # noqa: ARG002
        """See `DriverAction`: at all frequencies the same."""
        return sine_power_w(
            drive, self.coil.resistance_ohm, self.winding.peak_thermal_resistance_k_per_w
        )

    def cold_heat_w(self, freq_hz: NDArray[np.float64]) -> NDArray[np.float64]:
        """See `DriverAction`: R/2."""
        return np.full(np.shape(freq_hz), self.coil.resistance_ohm / 2)

    def warm_change(self, amplifier: Amplifier, freq_hz: float) -> complex:
        """See `DriverAction`: copper of more resistance takes less current of a voltage."""
        if isinstance(amplifier, CurrentAmplifier):
            return 1.0 + 0j
        warm_ohm = warm_resistance_ohm(self.coil.resistance_ohm, self.winding.temperature_rise_k)
        at = np.array([freq_hz])
        warm = replace(self.coil, resistance_ohm=warm_ohm).impedance_ohm(at)
        return complex((self.coil.impedance_ohm(at) / warm)[0])

    def current_a(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """See `DriverAction`: its drive."""
        return np.ones(np.shape(freq_hz), dtype=np.complex128)

    def voltage_v(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """See `DriverAction`: by the impedance of the coil."""
        return self.coil.impedance_ohm(freq_hz)


class _Faced(Protocol):
    """What `plain_action` reads of a driver."""

    @property
    def name(self) -> str: ...

    @property
    def place_m(self) -> tuple[float, float]: ...

    @property
    def face_diameter_m(self) -> float: ...

    @property
    def coil(self) -> CoilSection: ...


def plain_action(
    driver: _Faced,
    shapes: ModeShapes,
    force_factor_n_per_a: float,
    *,
    saturation_current_a: float = float("inf"),
    mover: Mover | None = None,
    lag: RayleighLag | None = None,
) -> CoilAction:
    """Figures of a driver whose force is proportional to its current, even over its face.

    Parameters
    ----------
    driver : driver with a coil
    shapes : ModeShapes
    force_factor_n_per_a : float
        [N/A]
    saturation_current_a : float
        [A]
    mover : Mover or None
    lag : RayleighLag or None

    Returns
    -------
    CoilAction
    """
    area = disc_points(driver.place_m, driver.face_diameter_m / 2)
    normal = normal_displacement(driver.name, shapes, area)
    return CoilAction(
        force_per_drive=force_factor_n_per_a * (area.weight_m2 @ normal) / area.area_m2,
        port=TwoPort(
            coil=driver.coil.at_rest, force_factor_n_per_a=force_factor_n_per_a, mover=mover
        ),
        winding=driver.coil,
        saturation_current_a=saturation_current_a,
        lag=lag,
    )
