"""What each treated mode can be made to do: highest level, fastest decay, power, and what binds.

A driver at its limit takes from the level what it takes, whatever the level is: dA/dt = -σ A - r,
with r the change of level that full command makes in a second. Hence

    A(t) = (A₀ + r/σ) exp(-σ t) - r/σ,

from A₀ to A in ln[(A₀ + r/σ)/(A + r/σ)]/σ: nearly a straight line. An exponential decay that is to
stay within the limit may ask for r at its beginning and only for a share of it later.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.decay import DECAY_60_DB
from modewright.loop.margins import margins_from_response

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators
    from modewright.loop.transfer import LoopTerms

__all__ = ["WANTED_GAIN_MARGIN_DB", "WANTED_PHASE_MARGIN_DEG", "Authority", "loop_authority"]

# Common practice for a loop that has to bear a real workshop: half the gain, a twelfth of a turn.
WANTED_GAIN_MARGIN_DB = 6.0
WANTED_PHASE_MARGIN_DEG = 30.0

_FASTEST_T60_S = 0.005
_SIXTY_DB = 1e-3
_BISECTIONS = 14


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Authority:
    """Limits of each treated mode; all arrays have shape (regulated,).

    Parameters
    ----------
    highest_level_driver_m : float array
        Largest peak displacement at the reference point that the driver can hold. [m]
    highest_level_input_m : float array
        Peak displacement at which the mode alone fills the input converter. [m]
    highest_level_gap_m : float array
        Peak displacement at which the mode alone makes the sheet touch a plate or pole, or
        snap onto it. [m]
    linear_level_m : float array
        Level up to which the wanted damping stays within the driver; above it the decay is a
        straight line. [m]
    fastest_t60_loop_s : float array
        Shortest decay with the wanted margins, this mode alone being treated. [s]
    exponential_t60_driver_s : float array
        Shortest T60 of an exponential decay from the mode's level that stays within the driver's
        limit from its beginning. [s]
    decay_at_limit_s : float array
        Time in which the mode falls from its level by 60 dB with the driver at its limit all the
        way: no loop can be faster. [s]
    damped_fall_s : float array
        Time in which the mode falls from its level by 60 dB as the design damps it: at the limit
        as long as that binds, then as wanted. [s]
    hold_power_w : float array
        Heat in the coil while the mode is held at its level. [W]
    hold_command : float array
        Amplitude of the command that holds it. [command]
    """

    highest_level_driver_m: NDArray[np.float64]
    highest_level_input_m: NDArray[np.float64]
    highest_level_gap_m: NDArray[np.float64]
    linear_level_m: NDArray[np.float64]
    fastest_t60_loop_s: NDArray[np.float64]
    exponential_t60_driver_s: NDArray[np.float64]
    decay_at_limit_s: NDArray[np.float64]
    damped_fall_s: NDArray[np.float64]
    hold_power_w: NDArray[np.float64]
    hold_command: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in (field.name for field in fields(self)):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def highest_level_m(self) -> NDArray[np.float64]:
        """Largest level that driver, input converter and gaps all bear. [m]"""
        return np.min([level for _, level in self._levels], axis=0)

    @property
    def highest_level_by(self) -> tuple[str, ...]:
        """What limits the level of each mode."""
        binding = np.argmin([level for _, level in self._levels], axis=0)
        names = [name for name, _ in self._levels]
        return tuple(names[int(index)] for index in np.atleast_1d(binding))

    @property
    def _levels(self) -> tuple[tuple[str, NDArray[np.float64]], ...]:
        return (
            ("driver", self.highest_level_driver_m),
            ("input", self.highest_level_input_m),
            ("gap", self.highest_level_gap_m),
        )


def loop_authority(
    plant: Plant, observer: Observer, regulators: Regulators, terms: LoopTerms
) -> Authority:
    """Work out the limits of every treated mode.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    terms : LoopTerms
        Of the same loop, on a grid that follows the resonances.

    Returns
    -------
    Authority

    Notes
    -----
    Averaged over a period, a sinusoidal push of amplitude u changes the level of a mode by
    |b| u/2 per sample; see `modewright.loop.regulators`. The heat is that of a cold driver.
    """
    modes = regulators.modes
    sigma = plant.decay_rate_per_s[modes]
    drive = np.abs(observer.push_gain[: len(modes)])
    level_rate = drive * plant.command_limit * plant.rate_hz / 2  # m/s at full command
    hold = regulators.sustain_gain * regulators.level_m
    drive_held = hold * np.abs(plant.drive_per_command[modes])
    with np.errstate(divide="ignore"):
        linear_level = plant.command_limit / regulators.damp_gain
    level = regulators.level_m
    begin = np.minimum(level, linear_level)
    damped_rate = sigma + regulators.damp_gain * drive * plant.rate_hz / 2
    end = level * _SIXTY_DB
    straight = _time_at_limit_s(level, np.maximum(begin, end), sigma, level_rate)
    return Authority(
        highest_level_driver_m=level_rate / sigma,
        highest_level_input_m=plant.full_scale_v / np.abs(observer.pickup_gain[: len(modes)]),
        highest_level_gap_m=plant.touch_level_m[modes],
        linear_level_m=linear_level,
        fastest_t60_loop_s=_fastest_by_margins(plant, drive, sigma, terms),
        exponential_t60_driver_s=DECAY_60_DB / (sigma + level_rate / level),
        decay_at_limit_s=_time_at_limit_s(level, end, sigma, level_rate),
        damped_fall_s=straight + np.log(np.maximum(begin / end, 1)) / damped_rate,
        hold_power_w=plant.cold_heat_w[modes] * drive_held**2,
        hold_command=hold,
    )


def _time_at_limit_s(
    start_m: NDArray[np.float64],
    end_m: NDArray[np.float64],
    sigma: NDArray[np.float64],
    level_rate: NDArray[np.float64],
) -> NDArray[np.float64]:
    ends_at = level_rate / sigma
    return np.log((start_m + ends_at) / (end_m + ends_at)) / sigma


def _fastest_by_margins(
    plant: Plant, drive: NDArray[np.float64], sigma: NDArray[np.float64], terms: LoopTerms
) -> NDArray[np.float64]:
    fastest = np.empty(len(sigma))
    for index, (gain_per_rate, own) in enumerate(
        zip(2 / (plant.rate_hz * drive), sigma, strict=True)
    ):
        low, high = 0.0, DECAY_60_DB / _FASTEST_T60_S
        for _ in range(_BISECTIONS):
            rate = (low + high) / 2
            gain = np.zeros(len(sigma))
            gain[index] = -gain_per_rate * rate
            low, high = (rate, high) if _has_margins(plant, terms, gain) else (low, rate)
        fastest[index] = DECAY_60_DB / (own + low)
    return fastest


def _has_margins(plant: Plant, terms: LoopTerms, gain: NDArray[np.float64]) -> bool:
    found = margins_from_response(terms.freq_hz, terms.response(gain), rate_hz=plant.rate_hz)
    return (
        found.gain_db >= WANTED_GAIN_MARGIN_DB
        and np.isinf(found.gain_reduction_db)
        and found.phase_deg >= WANTED_PHASE_MARGIN_DEG
    )
