"""How long a preamplifier is out of its range after a strike.

The plate offers the voltage s(t) of the ringing modes. Beyond its range the input's diodes carry
charge away, and when s swings back the node lacks it: ``v = s - q``. The charge returns through the
bias resistor (follower) or the feedback resistor (charge amplifier), with the time constant of the
lower corner. Diodes on both sides leave an offset that turns with every half swing and dies with
the sound; on one side only (the gate of a junction transistor) it stands until the resistor has
taken it away.

Every figure is linear in the motion: a swing that fills the gap makes more.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.transducers.pickup_signal import bias_corner_rad_s
from modewright.transducers.preamp import ChargeAmplifier

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.capacitive_pickup import CapacitivePickup

__all__ = ["Overload", "Ringing", "clamp_at_output_v", "overload_after", "strike_ringing"]

_DIODE_V = 0.6
_SMALLEST_SHARE = 0.01
_PER_PERIOD = 24
_BLOCK_PERIODS = 4096
_LONGEST_S = 120.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ringing:
    """What the plate offers: ``Σ volts exp(-rate t) sin(2π f t)``.

    Parameters
    ----------
    freq_hz, decay_rate_per_s, volts_v : float arrays, shape (modes,)
        [Hz], [1/s], [V]
    """

    freq_hz: NDArray[np.float64]
    decay_rate_per_s: NDArray[np.float64]
    volts_v: NDArray[np.float64]

    def largest_v(self, time_s: float) -> float:
        """Bound of the sum from a time on. [V]"""
        return float(np.abs(self.volts_v) @ np.exp(-self.decay_rate_per_s * time_s))

    def at(self, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """The sum at each time. [V]"""
        total = np.zeros_like(time_s)
        for freq, rate, volts in zip(
            self.freq_hz, self.decay_rate_per_s, self.volts_v, strict=True
        ):
            total += volts * np.exp(-rate * time_s) * np.sin(2 * np.pi * freq * time_s)
        return total

    def loud(self) -> Ringing:
        """Without modes of less than a hundredth of the loudest, which move no time by much."""
        keep = np.abs(self.volts_v) >= _SMALLEST_SHARE * np.abs(self.volts_v).max()
        return Ringing(
            freq_hz=self.freq_hz[keep],
            decay_rate_per_s=self.decay_rate_per_s[keep],
            volts_v=self.volts_v[keep],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Overload:
    """A preamplifier after a strike.

    Parameters
    ----------
    largest_v : float
        Bound of the voltage that the plate offers. [V]
    full_scale_v : float
        Of the preamplifier. [V]
    recovery_s : float or None
        From the strike until the output stays within its range; None if that takes over two
        minutes. [s]
    time_constant_s : float
        With which lost charge comes back. [s]
    """

    largest_v: float
    full_scale_v: float
    recovery_s: float | None
    time_constant_s: float


def strike_ringing(
    volts_per_coordinate: NDArray[np.float64],
    struck_per_sqrt_kg: NDArray[np.float64],
    freq_hz: NDArray[np.float64],
    decay_rate_per_s: NDArray[np.float64],
    *,
    force_n: float,
    width_s: float,
) -> Ringing:
    """Voltage that every mode makes after a raised-cosine push.

    Parameters
    ----------
    volts_per_coordinate : float array, shape (modes,)
        Of the pickup. [V/(m sqrt(kg))]
    struck_per_sqrt_kg : float array, shape (modes,)
        Displacement of the struck place per modal coordinate. [1/sqrt(kg)]
    freq_hz, decay_rate_per_s : float arrays, shape (modes,)
        [Hz], [1/s]
    force_n, width_s : float
        Peak and duration of the push. [N], [s]

    Returns
    -------
    Ringing
        From the middle of the push on; its transform is F w/2 sinc(f w)/(1 - (f w)²).
    """
    turns = freq_hz * width_s
    at_one = np.isclose(turns, 1.0)
    shape = np.where(at_one, 0.5, np.sinc(turns) / np.where(at_one, 1.0, 1 - turns**2))
    impulse_n_s = force_n * width_s / 2 * shape
    coordinate = struck_per_sqrt_kg * impulse_n_s / (2 * np.pi * freq_hz)
    return Ringing(
        freq_hz=freq_hz,
        decay_rate_per_s=decay_rate_per_s,
        volts_v=volts_per_coordinate * coordinate,
    )


def clamp_at_output_v(pickup: CapacitivePickup, capacitance_f: float) -> float:
    """Voltage at the output, were it not clipped, at which the input's diodes conduct. [V]

    A charge amplifier at its limit no longer holds its input: further charge lifts gap, stray and
    feedback capacitance together.
    """
    amp = pickup.preamp
    if isinstance(amp, ChargeAmplifier):
        total_f = capacitance_f + pickup.stray_capacitance_f + amp.feedback_capacitance_f
        return amp.full_scale_v + amp.clamp_v * total_f / amp.feedback_capacitance_f
    return amp.full_scale_v + _DIODE_V if amp.clamp_v is None else amp.clamp_v


def overload_after(pickup: CapacitivePickup, capacitance_f: float, ringing: Ringing) -> Overload:
    """Time until the preamplifier is back within its range for good.

    Parameters
    ----------
    pickup : CapacitivePickup
    capacitance_f : float
        Of the gap. [F]
    ringing : Ringing

    Returns
    -------
    Overload

    Notes
    -----
    The course is followed from one extreme of s to the next; between two the charge falls back by
    ``exp(-Δt/τ)``, which takes s to average to nothing over a time constant.
    """
    time_constant_s = 1 / bias_corner_rad_s(pickup, capacitance_f)
    largest_v, range_v = ringing.largest_v(0.0), pickup.preamp.full_scale_v
    recovery_s: float | None = 0.0
    if largest_v > range_v:
        recovery_s = _last_outside_s(
            ringing.loud(),
            range_v,
            clamp_at_output_v(pickup, capacitance_f),
            pickup.preamp.diodes,
            time_constant_s,
        )
    return Overload(
        largest_v=largest_v,
        full_scale_v=range_v,
        recovery_s=recovery_s,
        time_constant_s=time_constant_s,
    )


def _last_outside_s(
    ringing: Ringing, range_v: float, clamp_v: float, diodes: str, time_constant_s: float
) -> float | None:
    step_s = 1 / (_PER_PERIOD * float(ringing.freq_hz.max()))
    block_s = step_s * _BLOCK_PERIODS * _PER_PERIOD
    charge_v, last_s, before_s, start_s = 0.0, 0.0, 0.0, 0.0
    upper_v = np.inf if diodes == "none" else clamp_v
    lower_v = clamp_v if diodes == "both sides" else np.inf
    while ringing.largest_v(start_s) + abs(charge_v) > range_v:
        if start_s > _LONGEST_S:
            return None
        for time_s, source_v in zip(*_extremes(ringing, start_s, block_s, step_s), strict=True):
            charge_v *= np.exp(-(time_s - before_s) / time_constant_s)
            before_s = time_s
            charge_v = min(max(charge_v, source_v - upper_v), source_v + lower_v)
            if abs(source_v - charge_v) > range_v:
                last_s = time_s
        start_s += block_s
    return last_s


def _extremes(
    ringing: Ringing, start_s: float, block_s: float, step_s: float
) -> tuple[list[float], list[float]]:
    """Times and values at which s turns back, to 1 % of its swing."""
    time_s = start_s + np.arange(-1, round(block_s / step_s) + 1) * step_s
    volts = ringing.at(np.maximum(time_s, 0.0))
    turns = np.diff(volts[:-1]) * np.diff(volts[1:]) < 0
    inside = np.nonzero(turns)[0] + 1
    return time_s[inside].tolist(), volts[inside].tolist()
