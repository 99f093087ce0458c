"""Poles of the whole sampled loop, each given to the mode it belongs to.

The state holds the modes of the plant, the observer's error for every mode it knows, the commands
on their way, and the slow sections. Written with the error instead of the estimate, the poles of
the treated modes and those of the observer separate when the model is right (separation theorem:
Franklin, Powell & Workman, Digital Control of Dynamic Systems, ch. 8), which keeps the
numbers well conditioned. Each mode's pole is followed from the open loop, where it is known, while
the gains rise in steps to their full size.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import linalg, optimize

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.discrete import Sections
    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["ROUND_OFF_PER_S", "LoopPoles", "loop_poles", "transition_matrix"]


# Eigenvalues near the unit circle carry errors of some 1e-12 per sample.
ROUND_OFF_PER_S = 1e-6

_GAIN_STEPS = (0.0, 0.005, 0.02, 0.06, 0.15, 0.3, 0.5, 0.75, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopPoles:
    """Closed-loop pole of every mode of the plant.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        Frequency of the motion with the loop closed. [Hz]
    decay_rate_per_s : float array, shape (modes,)
        Decay rate; negative for a mode that grows. [1/s]
    shift_cents : float array, shape (modes,)
        What the loop does to the pitch. [cents]
    slowest_other_per_s : float
        Smallest decay rate among all poles that belong to no mode: observer and filters. [1/s]
    """

    freq_hz: NDArray[np.float64]
    decay_rate_per_s: NDArray[np.float64]
    shift_cents: NDArray[np.float64]
    slowest_other_per_s: float

    def __post_init__(self) -> None:
        for name in ("freq_hz", "decay_rate_per_s", "shift_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def is_stable(self) -> bool:
        """Whether every pole decays, round-off of the eigenvalues aside."""
        slowest = min(float(self.decay_rate_per_s.min()), self.slowest_other_per_s)
        return slowest > -ROUND_OFF_PER_S


def transition_matrix(
    plant: Plant, observer: Observer, regulators: Regulators, gain: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Matrix that takes the state of the whole loop one sample further.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    gain : float array, shape (regulated,)
        Linear gains of the regulators. [command/m]

    Returns
    -------
    float array, shape (states, states)
        State order: Re Z, Im Z, Re error, Im error, commands (newest first), slow sections.
    """
    modes, known, delay = plant.mode_count, len(observer.modes), plant.delay_samples
    slow_in, slow_out = 2 * len(plant.input_sections.sos), 2 * len(plant.output_sections.sos)
    size = 2 * modes + 2 * known + delay + slow_in + slow_out
    cuts = np.cumsum([modes, modes, known, known, delay, slow_in])
    re_z, im_z, re_e, im_e, line, mem_in, mem_out = np.split(np.eye(size), cuts)
    z, error = re_z + 1j * im_z, re_e + 1j * im_e

    heard = np.real(plant.pickup_gain @ z)
    y, mem_in = _through_sections(plant.input_sections, heard, mem_in)
    estimate = z[observer.modes] + error
    innovation = y - np.real(observer.pickup_gain @ estimate)

    count = len(gain)
    command = np.real((gain * regulators.steering) @ _predicted(observer, count, estimate, line))
    delayed = line[-1]
    current, mem_out = _through_sections(plant.output_sections, delayed, mem_out)
    new_z = plant.rotation[:, None] * z + np.outer(plant.drive_gain, current)
    new_estimate = (
        observer.rotation[:, None] * estimate
        + np.outer(observer.drive_gain, delayed)
        + np.outer(observer.correction, innovation)
    )
    new_error = new_estimate - new_z[observer.modes]
    new_line = np.vstack([command[None, :], line[:-1]])
    parts = (new_z.real, new_z.imag, new_error.real, new_error.imag, new_line, mem_in, mem_out)
    return np.concatenate(parts)


def _predicted(
    observer: Observer,
    count: int,
    estimate: NDArray[np.complex128],
    line: NDArray[np.float64],
) -> NDArray[np.complex128]:
    """State of the regulated modes when a command issued now arrives.

    p = λ^D d + Σ_j λ^(j-1) b u[k-j]: the sum of what bank p of the real-time core accumulates.
    """
    delay = len(line)
    rotation = observer.rotation[:count, None]
    powers = rotation ** np.arange(delay)
    forced = (observer.drive_gain[:count, None] * powers) @ line
    return rotation**delay * estimate[:count] + forced


def _through_sections(
    sections: Sections, signal: NDArray[np.float64], memory: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """One sample of a cascade in transposed direct form II, for all columns at once."""
    kept: list[NDArray[np.float64]] = []
    for row, (b0, b1, b2, _, a1, a2) in enumerate(sections.sos):
        first, second = memory[2 * row], memory[2 * row + 1]
        out = b0 * signal + first
        kept += [b1 * signal - a1 * out + second, b2 * signal - a2 * out]
        signal = out
    return signal, np.array(kept).reshape(memory.shape)


def loop_poles(
    plant: Plant, observer: Observer, regulators: Regulators, gain: NDArray[np.float64]
) -> LoopPoles:
    """Find the pole of every mode with the loop closed.

    Parameters
    ----------
    plant, observer, regulators, gain
        As for `transition_matrix`.

    Returns
    -------
    LoopPoles
    """
    own = plant.rotation
    velocity = np.zeros_like(own)
    values = own
    for before, after in itertools.pairwise(_GAIN_STEPS):
        matrix = transition_matrix(plant, observer, regulators, after * gain)
        values = np.asarray(linalg.eigvals(matrix), dtype=np.complex128)
        # A mode is followed in the upper half plane; its mirror image says the same.
        upper = values[values.imag > 0]
        chosen = _follow(own + velocity * (after - before), upper)
        velocity = (upper[chosen] - own) / (after - before)
        own = upper[chosen]
    others = values[(np.abs(values) > 0) & ~np.isin(values, [own, own.conj()])]
    freq = np.asarray(np.angle(own), dtype=np.float64)
    return LoopPoles(
        freq_hz=freq * plant.rate_hz / (2 * np.pi),
        decay_rate_per_s=-np.log(np.abs(own)) * plant.rate_hz,
        shift_cents=1200 * np.log2(freq / np.angle(plant.rotation)),
        slowest_other_per_s=float(-np.log(np.abs(others).max()) * plant.rate_hz),
    )


def _follow(expected: NDArray[np.complex128], values: NDArray[np.complex128]) -> NDArray[np.int64]:
    """Index of the value that continues each expected one, no value twice."""
    distance = np.abs(expected[:, None] - values[None, :])
    # A pole moves little in units of its own distance from the unit circle; squaring keeps one
    # long match from being traded for many short ones.
    _, chosen = optimize.linear_sum_assignment(distance**2)
    return np.asarray(chosen, dtype=np.int64)
