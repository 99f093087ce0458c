"""Pickups and drivers as the loop sees them, at their operating point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.transducers.electronics import Amplifier, CurrentAmplifier
from modewright.transducers.pickup_noise import equivalent_white_noise_v_per_rthz
from modewright.transducers.pickup_signal import (
    gap_nonlinearity,
    pickup_path,
    volts_per_coordinate,
)
from modewright.transducers.port import DriverPort, PickupPort

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.basis import ModalBasis
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.driver import Driver
    from modewright.transducers.driver_action import DriverAction
    from modewright.transducers.gap import BiasedGap

__all__ = ["DriveLimits", "drive_limits", "driver_port", "pickup_port"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveLimits:
    """What a driver bears for ever.

    Parameters
    ----------
    drive_by_cause : dict of str to float
        Peak drive that each cause allows at the lowest mode. [A or V]
    binding : str
        The cause that allows least.
    drive : float
        What it allows. [A or V]
    force_n : float
        Amplitude of what the driver acts by at that drive. [N]
    command : float
        Amplitude of the command that makes it at the lowest mode. [V or A]
    """

    drive_by_cause: dict[str, float]
    binding: str
    drive: float
    force_n: float
    command: float


def pickup_port(
    pickup: CapacitivePickup,
    biased: BiasedGap,
    basis: ModalBasis,
    *,
    temperature_k: float = 293.15,
) -> PickupPort:
    """Pickup as the loop sees it.

    Parameters
    ----------
    pickup : CapacitivePickup
    biased : BiasedGap
        At the operating point, in the modes of `basis`.
    basis : ModalBasis
    temperature_k : float
        For the noise. [K]

    Returns
    -------
    PickupPort
    """
    quadratic, cubic = gap_nonlinearity(pickup, biased.gap)
    capacitance_f = biased.gap.permeance
    return PickupPort(
        name=pickup.name,
        volts_per_coordinate=volts_per_coordinate(pickup, biased),
        quadratic_per_v=quadratic,
        cubic_per_v2=cubic,
        path=pickup_path(pickup, capacitance_f),
        noise_v_per_rthz=equivalent_white_noise_v_per_rthz(
            pickup, capacitance_f, basis.freq_hz, temperature_k=temperature_k
        ),
        full_scale_v=pickup.preamp.full_scale_v,
    )


def drive_limits(
    driver: Driver, action: DriverAction, amplifier: Amplifier, lowest_hz: float
) -> DriveLimits:
    """Largest steady sine of a driver.

    Parameters
    ----------
    driver : Driver
    action : DriverAction
        At the operating point.
    amplifier : VoltageAmplifier or CurrentAmplifier
    lowest_hz : float
        Frequency of the lowest mode, at which a voltage makes most current. [Hz]

    Returns
    -------
    DriveLimits

    Raises
    ------
    TransducerError
        If that amplifier cannot feed it, or its iron is saturated by the bias alone.
    """
    causes = action.largest_drives(driver.name, amplifier, lowest_hz)
    binding = min(causes, key=lambda cause: causes[cause])
    drive = causes[binding]
    return DriveLimits(
        drive_by_cause=causes,
        binding=binding,
        drive=drive,
        force_n=drive * action.force_factor_n_per_drive,
        command=drive * action.command_per_drive(amplifier, lowest_hz),
    )


def driver_port(
    driver: Driver,
    action: DriverAction,
    amplifier: Amplifier,
    limits: DriveLimits,
    freq_hz: NDArray[np.float64],
) -> DriverPort:
    """Driver as the loop sees it.

    Parameters
    ----------
    driver : Driver
    action : DriverAction
        At the operating point, in the modes that the loop knows.
    amplifier : VoltageAmplifier or CurrentAmplifier
        Its bandwidth belongs to `Electronics.output_stages`.
    limits : DriveLimits
        Of this driver on this amplifier.
    freq_hz : float array, shape (modes,)
        Of those modes. [Hz]

    Returns
    -------
    DriverPort
    """
    return DriverPort(
        name=driver.name,
        drive_unit=action.drive_unit,
        force_per_drive=action.force_per_drive,
        path=action.path(amplifier),
        mechanics=action.mechanics,
        lag=action.lag,
        command_unit="A" if isinstance(amplifier, CurrentAmplifier) else "V",
        command_limit=limits.command,
        cold_heat_w=action.cold_heat_w(freq_hz),
        current_a_per_drive=np.abs(action.current_a(freq_hz)),
        bias_current_a=action.bias_current_a,
    )
