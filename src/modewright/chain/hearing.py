"""From the damped modes to pickups and drivers at their operating point, with their figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.loop.plant import reference_scale
from modewright.transducers.operating_point import OperatingPoint, find_operating_point
from modewright.transducers.pickup_noise import NoiseTotals, noise_totals, signal_to_noise_db
from modewright.transducers.pickup_signal import bias_corner_rad_s, second_harmonic_per_m
from modewright.transducers.ports import DriveLimits, drive_limits, driver_port, pickup_port

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.design.schema import Design
    from modewright.transducers.port import DriverPort, PickupPort

__all__ = ["FIGURE_MOTION_M", "DriverFigures", "Hearing", "PickupFigures", "analyse_hearing"]

# Motion of the reference point for which signal-to-noise ratio and distortion are stated.
FIGURE_MOTION_M = 10e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PickupFigures:
    """What a pickup says of each mode; arrays have shape (modes,).

    Parameters
    ----------
    port : PickupPort
    capacitance_f : float
        Of the gap at rest. [F]
    corner_hz : float
        Below it the signal leaks away. [Hz]
    sensitivity_v_per_m : float array
        Voltage per displacement of the reference point, with sign. [V/m]
    noise : NoiseTotals
        20 Hz to 20 kHz.
    signal_to_noise_db : float array
        For `FIGURE_MOTION_M` of each mode alone. [dB]
    second_harmonic : float array
        Second harmonic over fundamental for that motion.
    """

    port: PickupPort
    capacitance_f: float
    corner_hz: float
    sensitivity_v_per_m: NDArray[np.float64]
    noise: NoiseTotals
    signal_to_noise_db: NDArray[np.float64]
    second_harmonic: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriverFigures:
    """What a driver can do to each mode.

    Parameters
    ----------
    port : DriverPort
    limits : DriveLimits
    force_n_per_a : float array, shape (modes,)
        Force on each mode per ampere, as if it acted at the reference point. [N/A]
    """

    port: DriverPort
    limits: DriveLimits
    force_n_per_a: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hearing:
    """The biased body with everything that hears and pushes it.

    Parameters
    ----------
    operating_point : OperatingPoint
    reference_per_sqrt_kg : float array, shape (modes,)
        Displacement of the reference point per modal coordinate, kept from zero. [1/sqrt(kg)]
    pickups : tuple of PickupFigures
    drivers : tuple of DriverFigures
    """

    operating_point: OperatingPoint
    reference_per_sqrt_kg: NDArray[np.float64]
    pickups: tuple[PickupFigures, ...]
    drivers: tuple[DriverFigures, ...]


def analyse_hearing(design: Design, body: Body) -> Hearing:
    """Find the operating point and the figures of every pickup and driver.

    Parameters
    ----------
    design : Design
    body : Body
        Of that design.

    Returns
    -------
    Hearing

    Raises
    ------
    TransducerError
        If the sheet snaps over, or a driver cannot act on it.
    """
    amplifier = design.electronics.amplifier
    point = find_operating_point(
        body.basis, design.pickups, design.drivers, amplifier, body.material.magnetism
    )
    basis = point.basis
    reference = reference_scale(basis, body.reference.point_m)
    temperature_k = body.material.temperature_k
    pickups: list[PickupFigures] = []
    for pickup, biased in zip(design.pickups, point.pickup_gaps, strict=True):
        port = pickup_port(pickup, biased, basis, temperature_k=temperature_k)
        noise = noise_totals(pickup, biased, basis, temperature_k=temperature_k)
        harmonic = second_harmonic_per_m(pickup, biased.gap, reference)
        pickups.append(
            PickupFigures(
                port=port,
                capacitance_f=biased.gap.permeance,
                corner_hz=bias_corner_rad_s(pickup, biased.gap.permeance) / (2 * np.pi),
                sensitivity_v_per_m=port.volts_per_coordinate / reference,
                noise=noise,
                signal_to_noise_db=signal_to_noise_db(
                    pickup, biased, basis, reference, FIGURE_MOTION_M, noise.total_v
                ),
                second_harmonic=harmonic * FIGURE_MOTION_M,
            )
        )
    drivers = tuple(
        DriverFigures(
            port=driver_port(driver, action, amplifier, basis),
            limits=drive_limits(driver, action, amplifier, float(basis.freq_hz[0])),
            force_n_per_a=action.force_per_ampere / reference,
        )
        for driver, action in zip(design.drivers, point.driver_actions, strict=True)
    )
    return Hearing(
        operating_point=point,
        reference_per_sqrt_kg=reference,
        pickups=tuple(pickups),
        drivers=drivers,
    )
