"""The figures by which a maker judges a pickup or a driver, gathered for printing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.transducers.pickup_noise import (
    NoiseTotals,
    ktc_noise_v,
    noise_totals,
    signal_to_noise_db,
)
from modewright.transducers.pickup_signal import (
    bias_corner_rad_s,
    pickup_path,
    second_harmonic_per_m,
    volts_per_coordinate,
)
from modewright.transducers.stage import path_response

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.basis import ModalBasis
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.driver import Driver
    from modewright.transducers.driver_action import DriverAction, DriveUnit
    from modewright.transducers.gap import BiasedGap
    from modewright.transducers.ports import DriveLimits

__all__ = ["DriverFigures", "PickupFigures", "driver_figures", "pickup_figures"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PickupFigures:
    """A pickup at its operating point.

    Parameters
    ----------
    name : str
        Name from the design.
    capacitance_f : float
        Of the gap, with the field at its rim. [F]
    fringe_factor : float
        Its ratio to that of the field between the faces alone.
    fringe_method : str
        Where the field at the rim was taken from.
    corner_hz : float
        Below it the signal leaks away. [Hz]
    sensitivity_v_per_m : float array, shape (modes,)
        Signed: peak voltage at the preamplifier per peak displacement of the reference point,
        each mode alone; infinite where the point lies on a node. [V/m]
    phase_deg : float array, shape (modes,)
        Phase of that voltage, path included. [deg]
    motion_m : float
        Peak displacement of the reference point to which the next two refer. [m]
    second_harmonic : float array, shape (modes,)
        Second harmonic over fundamental.
    signal_to_noise_db : float array, shape (modes,)
        Over all noise in the audio band. [dB]
    noise : NoiseTotals
        In the audio band, by contributor.
    ktc_noise_v : float
        Thermal noise of the bias or feedback resistor over all frequencies. [V]
    """

    name: str
    capacitance_f: float
    fringe_factor: float
    fringe_method: str
    corner_hz: float
    sensitivity_v_per_m: NDArray[np.float64]
    phase_deg: NDArray[np.float64]
    motion_m: float
    second_harmonic: NDArray[np.float64]
    signal_to_noise_db: NDArray[np.float64]
    noise: NoiseTotals
    ktc_noise_v: float

    def __post_init__(self) -> None:
        for name in ("sensitivity_v_per_m", "phase_deg", "second_harmonic", "signal_to_noise_db"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def pickup_figures(
    pickup: CapacitivePickup,
    biased: BiasedGap,
    basis: ModalBasis,
    reference_m: tuple[float, float],
    *,
    motion_m: float = 10e-6,
    temperature_k: float = 293.15,
) -> PickupFigures:
    """Judge a pickup.

    Parameters
    ----------
    pickup : CapacitivePickup
    biased : BiasedGap
        At the operating point, in the modes of `basis`.
    basis : ModalBasis
    reference_m : tuple of two floats
        Point to which sensitivity and motion refer. [m]
    motion_m : float
        Peak displacement, > 0. [m]
    temperature_k : float
        [K]

    Returns
    -------
    PickupFigures
    """
    reference = basis.shapes.displacement(np.array([reference_m]))[0, 2]
    capacitance_f = biased.gap.permeance
    noise = noise_totals(pickup, biased, basis, temperature_k=temperature_k)
    path = path_response(pickup_path(pickup, capacitance_f), basis.freq_hz)
    volts = volts_per_coordinate(pickup, biased)
    with np.errstate(divide="ignore", invalid="ignore"):
        sensitivity = volts / reference
    return PickupFigures(
        name=pickup.name,
        capacitance_f=capacitance_f,
        fringe_factor=capacitance_f / biased.gap.facing.permeance,
        fringe_method=biased.gap.rim_method,
        corner_hz=bias_corner_rad_s(pickup, capacitance_f) / (2 * np.pi),
        sensitivity_v_per_m=sensitivity * np.abs(path),
        phase_deg=np.degrees(np.angle(path * np.sign(volts * reference))),
        motion_m=motion_m,
        second_harmonic=second_harmonic_per_m(pickup, biased.gap, reference) * motion_m,
        signal_to_noise_db=signal_to_noise_db(
            pickup, biased, basis, reference, motion_m, noise.total_v
        ),
        noise=noise,
        ktc_noise_v=ktc_noise_v(pickup, capacitance_f, temperature_k),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverFigures:
    """A driver at its operating point.

    Parameters
    ----------
    name : str
        Name from the design.
    drive_unit, acts_by : str
        See `modewright.transducers.driver_action.DriverAction`.
    force_factor_n_per_drive : float
        [N/A or N/V]
    electrical : dict of str to float
        Resistance, inductance and the like, by name with unit.
    pull_n : float
        Static pull towards the pole; 0 for a moving coil. [N]
    stiffness_n_per_m : float
        Stiffness of the gap for an even lift, <= 0. [N/m]
    limits : DriveLimits
    power_w : float
        Heat at the largest steady sine at the lowest mode, once warm. [W]
    duty_text : str
        How long it is driven so.
    second_harmonic : float
        Force at twice the frequency over that at the frequency of that sine, because the pull
        grows with the square of the flux.
    lag_rad : float
        By which its force then lags behind its drive by hysteresis. [rad]
    """

    name: str
    drive_unit: DriveUnit
    acts_by: str
    force_factor_n_per_drive: float
    electrical: dict[str, float]
    pull_n: float
    stiffness_n_per_m: float
    limits: DriveLimits
    power_w: float
    duty_text: str
    second_harmonic: float
    lag_rad: float


def driver_figures(
    driver: Driver,
    action: DriverAction,
    biased: BiasedGap | None,
    limits: DriveLimits,
    lowest_hz: float,
) -> DriverFigures:
    """Judge a driver.

    Parameters
    ----------
    driver : Driver
    action : DriverAction
        At the operating point.
    biased : BiasedGap or None
        Its gap there, if it has one.
    limits : DriveLimits
    lowest_hz : float
        Of the modes. [Hz]

    Returns
    -------
    DriverFigures
    """
    return DriverFigures(
        name=driver.name,
        drive_unit=action.drive_unit,
        acts_by=action.acts_by,
        force_factor_n_per_drive=action.force_factor_n_per_drive,
        electrical=action.electrical,
        pull_n=0.0 if biased is None else biased.pull_n,
        stiffness_n_per_m=(
            0.0 if biased is None else -(biased.bias**2) / 2 * biased.gap.even_lift[1]
        ),
        limits=limits,
        power_w=action.heat_w(limits.drive, lowest_hz),
        duty_text=action.heating.duty_text,
        # (M + N i cos)² has 2 M N i at the frequency and N² i²/2 at twice it.
        second_harmonic=limits.drive / (4 * action.bias_current_a),
        lag_rad=0.0 if action.lag is None else float(action.lag.at_rad(np.array(limits.drive))),
    )
