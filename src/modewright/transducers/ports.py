"""Pickups and drivers as the loop sees them, at their operating point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import TransducerError
from modewright.transducers.electronics import Amplifier, CurrentAmplifier
from modewright.transducers.heat import heat_limited_current_a, warm_resistance_ohm
from modewright.transducers.pickup_noise import equivalent_white_noise_v_per_rthz
from modewright.transducers.pickup_signal import (
    gap_nonlinearity,
    pickup_path,
    volts_per_coordinate,
)
from modewright.transducers.port import DriverPort, PickupPort

if TYPE_CHECKING:
    from modewright.modes.basis import ModalBasis
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.driver import Driver, DriverAction
    from modewright.transducers.gap import BiasedGap

__all__ = ["DriveLimits", "drive_limits", "driver_port", "pickup_port"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveLimits:
    """What a driver bears for ever.

    Parameters
    ----------
    current_by_cause_a : dict of str to float
        Peak current that each cause allows at the lowest mode. [A]
    binding : str
        The cause that allows least.
    current_a : float
        What it allows. [A]
    force_n : float
        Amplitude of force on the sheet at that current. [N]
    command : float
        Amplitude of the command that makes it at the lowest mode. [V or A]
    """

    current_by_cause_a: dict[str, float]
    binding: str
    current_a: float
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
        If the iron is saturated by the bias alone.
    """
    section = driver.coil
    impedance_ohm = float(np.abs(action.coil.impedance_ohm(np.array([lowest_hz])))[0])
    command_per_ampere = 1.0 if isinstance(amplifier, CurrentAmplifier) else impedance_ohm
    causes = {
        "amplifier": amplifier.limit / command_per_ampere,
        "heat": heat_limited_current_a(
            warm_resistance_ohm(section.resistance_ohm, section.temperature_rise_k),
            section.peak_thermal_resistance_k_per_w,
            section.temperature_rise_k,
        ),
        "magnetic flux": action.saturation_current_a,
    }
    if section.current_limit_a is not None:
        causes["current limit"] = section.current_limit_a
    if action.mover is not None and action.mover.link is not None:
        causes["attachment"] = action.mover.link.largest_push_n / action.force_factor_n_per_a
    binding = min(causes, key=lambda cause: causes[cause])
    current_a = causes[binding]
    if current_a <= 0:
        raise TransducerError(
            f"{driver.name}: expected iron that can carry more flux than the bias, got none left "
            "at the operating point.",
            hint="Weaken the bias, or use a thicker armature or sheet.",
            key="bias_flux_density",
        )
    return DriveLimits(
        current_by_cause_a=causes,
        binding=binding,
        current_a=current_a,
        force_n=current_a * action.force_factor_n_per_a,
        command=current_a * command_per_ampere,
    )


def driver_port(
    driver: Driver, action: DriverAction, amplifier: Amplifier, limits: DriveLimits
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

    Returns
    -------
    DriverPort
    """
    is_current = isinstance(amplifier, CurrentAmplifier)
    return DriverPort(
        name=driver.name,
        force_per_ampere=action.force_per_ampere,
        force_factor_n_per_a=action.force_factor_n_per_a,
        path=() if is_current else action.two_port.current_stages(),
        mechanics=() if action.mover is None else action.mover.stages(),
        command_unit="A" if is_current else "V",
        command_limit=limits.command,
        resistance_ohm=action.coil.resistance_ohm,
        bias_current_a=action.bias_current_a,
    )
