"""Where the phase of each mode goes between its motion and the force on it, stage by stage.

A push that should damp a mode by σ but comes φ late damps it by σ cos φ and raises its angular
frequency by σ sin φ: first order in σ of the roots of ``s² + ω² + 2 σ s exp(-jφ)``. Half a turn
late it drives what it should damp.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.decay import DECAY_60_DB

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.electronics import Electronics
    from modewright.transducers.port import DriverPort, PickupPort
    from modewright.transducers.stage import Stage

__all__ = ["LatencyBudget", "LatencyRow", "late_push", "latency_budget", "stage_phase_rad"]

_CENTS_PER_OCTAVE = 1200.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LatencyRow:
    """One stage.

    Parameters
    ----------
    name : str
    phase_rad : float array, shape (modes,)
        Of its response, followed from 0 Hz on without jumps; below zero is late. [rad]
    delay_s : float array, shape (modes,)
        The same as a time, -phase/ω. [s]
    """

    name: str
    phase_rad: NDArray[np.float64]
    delay_s: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("phase_rad", "delay_s"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LatencyBudget:
    """All stages, their sum, and what it costs a controller that does not turn it back.

    Parameters
    ----------
    rows : tuple of LatencyRow
        In the order of the path.
    total : LatencyRow
    kept_damping : float array, shape (modes,)
        cos φ: share of the damping that is left; below zero the push drives.
    detuning_cents : float array, shape (modes,)
        For a push that alone should give a T60 of 1 s. [cents]
    """

    rows: tuple[LatencyRow, ...]
    total: LatencyRow
    kept_damping: NDArray[np.float64]
    detuning_cents: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("kept_damping", "detuning_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def stage_phase_rad(stage: Stage, freq_hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """Phase of a stage, followed from 0 Hz on.

    Parameters
    ----------
    stage : Stage
    freq_hz : float array, shape (modes,)
        > 0. [Hz]

    Returns
    -------
    float array, shape (modes,)
        [rad]
    """
    omega = 2 * np.pi * freq_hz
    phase = -omega * stage.delay_s
    for sign, roots in ((1, stage.zeros_rad_s), (-1, stage.poles_rad_s)):
        for root in roots:
            phase = phase + sign * np.arctan2(omega - root.imag, -root.real)
    return phase + (np.pi if stage.gain < 0 else 0.0)


def latency_budget(
    freq_hz: NDArray[np.float64], pickup: PickupPort, electronics: Electronics, driver: DriverPort
) -> LatencyBudget:
    """Add up the phase of every stage at each mode.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    pickup : PickupPort
    electronics : Electronics
    driver : DriverPort

    Returns
    -------
    LatencyBudget
    """
    omega = 2 * np.pi * freq_hz

    def row(name: str, phase_rad: NDArray[np.float64]) -> LatencyRow:
        return LatencyRow(name=name, phase_rad=phase_rad, delay_s=-phase_rad / omega)

    def rows_of(stages: tuple[Stage, ...]) -> list[LatencyRow]:
        return [row(stage.name, stage_phase_rad(stage, freq_hz)) for stage in stages]

    rows = (
        *rows_of((*pickup.path, *electronics.input_stages)),
        row("hold", -omega / (2 * electronics.rate_hz)),
        *rows_of((*electronics.output_stages, *driver.path, *driver.mechanics)),
    )
    total_rad = np.sum([each.phase_rad for each in rows], axis=0)
    kept, raised_rad_s = late_push(-total_rad, DECAY_60_DB)
    return LatencyBudget(
        rows=rows,
        total=row("whole path", total_rad),
        kept_damping=kept,
        detuning_cents=_CENTS_PER_OCTAVE * np.log2(1 + raised_rad_s / omega),
    )


def late_push(
    late_rad: NDArray[np.float64], decay_rate_per_s: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """What a damping push does when it comes late.

    Parameters
    ----------
    late_rad : float array, shape (modes,)
        [rad]
    decay_rate_per_s : float
        That it would add in time. [1/s]

    Returns
    -------
    tuple of two float arrays, shape (modes,)
        Share of the damping that is left; change of the angular frequency. [1], [rad/s]
    """
    return np.cos(late_rad), decay_rate_per_s * np.sin(late_rad)
