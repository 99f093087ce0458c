"""Poles of the whole sampled loop, each given to the mode it belongs to.

Open, the loop's poles are known: those of the plant, and those of the observer's error. Each is
followed while the gains rise to their full size, by Newton's method on the characteristic function
with all other poles divided out (O. Aberth, Iteration methods for finding all zeros of a polynomial
simultaneously, Mathematics of Computation 27, 1973, p. 339), so that no two fall into one. The cost
does not depend on the delay, which a matrix of the loop would hold as that many states.

Whatever else the loop can do (filters, echoes of the delay) is counted by the argument principle:
the turns of the characteristic function along the unit circle (Franklin, Powell & Workman, Digital
Control of Dynamic Systems, ch. 7) give the number of all poles that grow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import linalg, optimize

from modewright.checks import frozen_array
from modewright.errors import LoopError
from modewright.loop.characteristic import cleared_characteristic
from modewright.loop.growth import ROUND_OFF_PER_S, turns_along_circle

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators
    from modewright.loop.transfer import LoopTerms

__all__ = [
    "LoopPoles",
    "PoleTracks",
    "follow_poles",
    "loop_poles",
    "open_tracks",
]

_CONVERGED = 1e-13
_ITERATIONS = 20
_FIRST_STEP, _SMALLEST_STEP = 0.005, 1e-6
_DIFFERENCE = 1e-9
_NUDGE = -1e-5
# z^-D must stay within what a double holds.
_LARGEST_DELAY_EXPONENT = 300.0


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
    growing_count : int
        Number of all poles of the loop that grow, modes or not; a conjugate pair counts twice.
    """

    freq_hz: NDArray[np.float64]
    decay_rate_per_s: NDArray[np.float64]
    shift_cents: NDArray[np.float64]
    growing_count: int

    def __post_init__(self) -> None:
        for name in ("freq_hz", "decay_rate_per_s", "shift_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def is_stable(self) -> bool:
        """Whether every pole decays, round-off aside."""
        return self.growing_count == 0 and float(self.decay_rate_per_s.min()) > -ROUND_OFF_PER_S


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoleTracks:
    """Poles that are followed: one for each mode, then one for each mode that the observer knows.

    Parameters
    ----------
    owner : int array, shape (tracks,)
        Mode of the plant to which each belongs.
    start : complex array, shape (tracks,)
        Pole of the plant, or of the observer's bank, before anything acts on it: λ or λ̂.
    now : complex array, shape (tracks,)
        Where it is. A mode above half the rate may have its pole in the lower half plane.
    """

    owner: NDArray[np.int64]
    start: NDArray[np.complex128]
    now: NDArray[np.complex128]


def loop_poles(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    gain: NDArray[np.float64],
    terms: LoopTerms,
) -> LoopPoles:
    """Find the pole of every mode with the loop closed, and count all that grow.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    gain : float array, shape (regulated,)
        Linear gains of the regulators. [command/m]
    terms : LoopTerms
        Of the same loop, from 0 to half the rate on a grid that follows the resonances.

    Returns
    -------
    LoopPoles

    Raises
    ------
    LoopError
        If the poles change too wildly to be followed.
    """
    tracks = open_tracks(plant, observer)
    tracks = follow_poles(plant, observer, regulators, gain, tracks)
    own = tracks.now[: plant.mode_count]
    damped_hz = plant.freq_hz * np.sqrt(1 - plant.damping_ratio**2)
    turned = np.asarray(np.angle(own / plant.rotation), dtype=np.float64)
    # A pole that a wild loop has pushed through zero sounds at the frequency of its mirror image.
    freq_hz = np.abs(damped_hz + turned * plant.rate_hz / (2 * np.pi))
    return LoopPoles(
        freq_hz=freq_hz,
        decay_rate_per_s=-np.log(np.abs(own)) * plant.rate_hz,
        shift_cents=1200 * np.log2(freq_hz / damped_hz),
        growing_count=growing_count(plant, observer, regulators, gain, terms),
    )


def open_tracks(plant: Plant, observer: Observer) -> PoleTracks:
    """Poles of the modes and of the observer's error without any regulator.

    Parameters
    ----------
    plant, observer : Plant, Observer

    Returns
    -------
    PoleTracks
    """
    rotation, count = observer.rotation, len(observer.rotation)
    correction = np.concatenate([observer.correction.real, observer.correction.imag])
    heard = np.concatenate([observer.pickup_gain.real, -observer.pickup_gain.imag])
    turn = np.block(
        [[np.diag(rotation.real), -np.diag(rotation.imag)],
         [np.diag(rotation.imag), np.diag(rotation.real)]]
    )  # fmt: skip
    values = np.asarray(linalg.eigvals(turn - np.outer(correction, heard)), dtype=np.complex128)
    # Every mode finds its own in the upper half plane; an alias may turn the other way.
    upper = values[np.argsort(-values.imag)[:count]]
    mirrored = np.where(rotation.imag < 0, np.conj(rotation), rotation)
    distance = np.abs(mirrored[:, None] - upper[None, :])
    # Squares keep one long match from being traded for many short ones.
    _, chosen = optimize.linear_sum_assignment(distance**2)
    error = np.where(rotation.imag < 0, np.conj(upper[chosen]), upper[chosen])
    return PoleTracks(
        owner=np.concatenate([np.arange(plant.mode_count), observer.modes]),
        start=np.concatenate([plant.rotation, rotation]),
        now=np.concatenate([plant.rotation, error]),
    )


def follow_poles(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    gain: NDArray[np.float64],
    tracks: PoleTracks,
) -> PoleTracks:
    """Follow the poles while the gains rise from nothing.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    gain : float array, shape (regulated,)
        Gains at the end. [command/m]
    tracks : PoleTracks
        From `open_tracks`.

    Returns
    -------
    PoleTracks

    Raises
    ------
    LoopError
        If they change too wildly.
    """
    modes, count = regulators.modes, len(gain)
    velocity = np.zeros_like(tracks.now)
    velocity[modes] = gain * regulators.steering * observer.push_gain[:count] / 2
    # States that only listen begin on the zero that is divided out, and have to leave it.
    velocity[(tracks.now == tracks.start) & (np.arange(len(velocity)) >= plant.mode_count)] = _NUDGE
    if not np.any(gain):
        return tracks
    share, step = 0.0, _FIRST_STEP
    while share < 1:
        step = min(step, 1 - share)
        expected = PoleTracks(
            owner=tracks.owner, start=tracks.start, now=tracks.now + velocity * step
        )
        found = settle_poles(plant, observer, regulators, (share + step) * gain, expected)
        if found is None:
            step /= 2
            if step < _SMALLEST_STEP:
                raise _lost(plant, tracks, share)
            continue
        velocity = (found.now - tracks.now) / step
        share, step, tracks = share + step, 2 * step, found
    return tracks


def settle_poles(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    gain: NDArray[np.float64],
    tracks: PoleTracks,
) -> PoleTracks | None:
    """Improve poles that are nearly right; None if they do not settle.

    Parameters
    ----------
    plant, observer, regulators, gain
        As for `follow_poles`.
    tracks : PoleTracks
        With `now` near the poles for these gains.

    Returns
    -------
    PoleTracks or None
    """
    function = cleared_characteristic(plant, observer, regulators, gain, tracks.owner)
    z = tracks.now.copy()
    smallest = np.exp(-_LARGEST_DELAY_EXPONENT / plant.delay_samples)
    same_owner = tracks.owner[:, None] == tracks.owner[None, :]
    farthest = np.abs(tracks.now - tracks.start).max() + 0.05
    for _ in range(_ITERATIONS):
        value = function.at(z)
        slope = (function.at(z + _DIFFERENCE) - value) / _DIFFERENCE
        others = _pull_of_others(z, tracks.start, same_owner)
        # The zero that both banks of the observer share is no pole of the loop.
        shared = function.is_regulated / np.where(
            function.is_regulated, function.from_observer(z), 1
        )
        step = value / (slope + value * (others - shared))
        z = z - step
        if not np.all(np.abs(z) > smallest) or np.abs(z - tracks.now).max() > farthest:
            return None
        if np.abs(step).max() < _CONVERGED * 10:
            return PoleTracks(owner=tracks.owner, start=tracks.start, now=z)
    return None


def _lost(plant: Plant, tracks: PoleTracks, share: float) -> LoopError:
    """Why poles could not be followed: the one that has come nearest to the real axis is named."""
    turn = np.abs(np.angle(tracks.now))
    index = int(np.argmin(turn / np.abs(np.angle(tracks.start))))
    mode = int(tracks.owner[index])
    return LoopError(
        "loop: expected modes that still vibrate with the loop closed, got poles that cannot be "
        f"followed beyond {share * 100:.3g} % of the gains; mode {mode + 1} ({plant.labels[mode]}) "
        f"has come down from {plant.freq_hz[mode]:.1f} Hz to "
        f"{turn[index] * plant.rate_hz / (2 * np.pi):.1f} Hz there.",
        hint="Ask for longer decays in loop.modes, of this mode first.",
    )


def _pull_of_others(
    z: NDArray[np.complex128], start: NDArray[np.complex128], same_owner: NDArray[np.bool_]
) -> NDArray[np.complex128]:
    """Logarithmic derivative of what is divided out: other zeros, against the poles they left."""
    itself = np.eye(len(z), dtype=bool)
    poles = np.where(same_owner, 0, 1 / np.where(same_owner, 1, z[:, None] - start))
    zeros = np.where(itself, 0, 1 / np.where(itself, 1, z[:, None] - z))
    mirrored = 1 / (z[:, None] - start.conj()) - 1 / (z[:, None] - z.conj())
    return np.asarray((poles - zeros + mirrored).sum(axis=1), dtype=np.complex128)


def growing_count(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    gain: NDArray[np.float64],
    terms: LoopTerms,
) -> int:
    """Count the poles outside the unit circle by the turns of the characteristic function along it.

    Parameters
    ----------
    plant, observer, regulators, gain, terms
        As for `loop_poles`; each bank by itself decays.

    Returns
    -------
    int
        A conjugate pair counts twice.
    """
    # The lower half of the circle doubles the turns.
    _, turn_rad = turns_along_circle(plant, observer, regulators, gain, terms)
    return round(-float(turn_rad.sum()) / np.pi)
