"""What a driver can do to one mode, and what it does to it merely by being there.

The mode is a mass on a spring at the reference point, pushed by the force ``f i`` there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.transducers.ports import drive_limits

if TYPE_CHECKING:
    from modewright.transducers.driver import Driver
    from modewright.transducers.driver_action import DriverAction
    from modewright.transducers.electronics import Amplifier

__all__ = ["ModeAtPoint", "Push", "push_on_mode"]

_END = 1e-3  # 60 dB down


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeAtPoint:
    """One mode seen from the reference point.

    Parameters
    ----------
    freq_hz : float
        [Hz]
    damping_ratio : float
    stiffness_n_per_m : float
        Modal mass there times the square of the angular frequency. [N/m]
    """

    freq_hz: float
    damping_ratio: float
    stiffness_n_per_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """A driver on one mode.

    Parameters
    ----------
    force_n_per_drive : float
        As if at the reference point, >= 0. [N/A or N/V]
    force_at_watt_n : float
        Amplitude of a steady force for 1 W of heat in it when cold. [N]
    strike_m : float
        Amplitude after a push of half a period, a half sine at the limit; heat does not count. [m]
    strike_by : str
        What limits it.
    steady_m : float
        Amplitude that it keeps up for ever. [m]
    steady_by : str
        What limits it.
    fall_s : float
        Time in which it brakes the mode by 60 dB from the level, at the limit of a strike all the
        way; half a period at least. [s]
    hold_w : float or None
        Heat in it, once warm, while it holds the mode at the level; None beyond what it bears. [W]
    base_n : float
        Amplitude of the force by which it stands off from its base while it holds the level. The
        root pulls on the base about Q times as much. [N]
    warm_db, warm_deg : float
        What the allowed rise of temperature does to the drive at this mode; nothing to the
        current of a current amplifier. [dB], [deg]
    """

    force_n_per_drive: float
    force_at_watt_n: float
    strike_m: float
    strike_by: str
    steady_m: float
    steady_by: str
    fall_s: float
    hold_w: float | None
    base_n: float
    warm_db: float
    warm_deg: float


def push_on_mode(
    driver: Driver,
    action: DriverAction,
    amplifier: Amplifier,
    mode: ModeAtPoint,
    force_n_per_drive: float,
    level_m: float,
) -> Push:
    """Judge a driver by one mode.

    Parameters
    ----------
    driver : Driver
    action : DriverAction
        At the operating point.
    amplifier : VoltageAmplifier or CurrentAmplifier
    mode : ModeAtPoint
        With the driver in its place.
    force_n_per_drive : float
        As if at the reference point, of either sign. [N/A or N/V]
    level_m : float
        Amplitude at the reference point from which it brakes and at which it holds, > 0. [m]

    Returns
    -------
    Push

    Raises
    ------
    TransducerError
        If its iron is saturated at rest.

    Notes
    -----
    Touching a plate or pole is not counted. At resonance a force of amplitude F builds up
    F/(2 m ω) of level per second. Half a period of it leaves π F/(2 m ω²) behind. Against it a mode
    falls as dA/dt = -σ A - F/(2 m ω).
    """
    limits = drive_limits(driver, action, amplifier, mode.freq_hz)
    short = {c: a for c, a in limits.drive_by_cause.items() if c != "heat"}
    strike_by = min(short, key=lambda cause: short[cause])
    force = _link_gain(action, mode.freq_hz) * abs(force_n_per_drive)
    strike_n, steady_n = force * short[strike_by], force * limits.drive
    omega = 2 * math.pi * mode.freq_hz
    sigma = mode.damping_ratio * omega
    # Level that braking at the limit would take off while losses take off e.
    brake_m = strike_n * omega / (2 * mode.stiffness_n_per_m) / sigma
    hold_n = 2 * mode.damping_ratio * mode.stiffness_n_per_m * level_m
    warm = action.warm_change(amplifier, mode.freq_hz)
    return Push(
        force_n_per_drive=force,
        force_at_watt_n=force / math.sqrt(float(action.cold_heat_w(np.array([mode.freq_hz]))[0])),
        strike_m=math.pi / 2 * strike_n / mode.stiffness_n_per_m,
        strike_by=strike_by,
        steady_m=steady_n / (2 * mode.damping_ratio * mode.stiffness_n_per_m),
        steady_by=limits.binding,
        fall_s=max(
            math.log((level_m + brake_m) / (_END * level_m + brake_m)) / sigma,
            0.5 / mode.freq_hz,
        ),
        hold_w=(action.heat_w(hold_n / force, mode.freq_hz) if hold_n <= steady_n else None),
        base_n=_base_n(action, hold_n, abs(force_n_per_drive)),
        warm_db=20 * math.log10(abs(warm)),
        warm_deg=math.degrees(math.atan2(warm.imag, warm.real)),
    )


def _base_n(action: DriverAction, hold_n: float, force_n_per_drive: float) -> float:
    """Where the body moves less than at the reference point it takes more force."""
    if not action.pushes_base or force_n_per_drive == 0:
        return 0.0
    return hold_n * action.force_factor_n_per_drive / force_n_per_drive


def _link_gain(action: DriverAction, freq_hz: float) -> float:
    return float(abs(np.prod([s.response(np.array([freq_hz]))[0] for s in action.mechanics])))
