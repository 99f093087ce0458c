"""Transfer functions of the sampled plant, the controller and the loop between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["LoopTerms", "frequency_grid_hz", "loop_terms", "plant_response"]

# Rows of modes times columns of frequencies that are worked on at once.
_BLOCK = 4096


def rotation_bank(
    z: NDArray[np.complex128],
    rotation: NDArray[np.complex128],
    product: NDArray[np.complex128],
) -> NDArray[np.complex128]:
    """Sum of ``Re(c Z)`` over complex rotations driven by a real input.

    Parameters
    ----------
    z : complex array, shape (freqs,)
        Places in the z plane.
    rotation, product : complex arrays, shape (modes,)
        λ, and input gain times output gain of each mode.

    Returns
    -------
    complex array, shape (freqs,)
        ``Σ ½ [g c/(z - λ) + conj(g c)/(z - λ̄)]``.
    """
    total = np.zeros(z.shape, dtype=np.complex128)
    for start in range(0, len(z), _BLOCK):
        part = z[start : start + _BLOCK, None]
        terms = product / (part - rotation) + np.conj(product) / (part - np.conj(rotation))
        total[start : start + _BLOCK] = terms.sum(axis=1) / 2
    return total


def plant_response(plant: Plant, z: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Input voltage per command, delay included. [V/command]"""
    modes = rotation_bank(z, plant.rotation, plant.drive_gain * plant.pickup_gain)
    slow = plant.input_sections.at(z) * plant.output_sections.at(z)
    return modes * slow * z ** (-plant.delay_samples)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopTerms:
    """What the return ratio is made of, before the gains of the regulators are known.

    With D_l, D_b, W_l, W_b the banks' responses to the innovation and to the command, the observer
    gives e = (y - D_b z^-D u)/(1 + D_l) and u (1 - W_b) = W_l e, hence

        u/y = W_l / [(1 + D_l)(1 - W_b) + W_l D_b z^-D].

    Parameters
    ----------
    freq_hz : float array, shape (freqs,)
        Frequencies, without what grows. [Hz]
    plant : complex array, shape (freqs,)
        From `plant_response`. [V/command]
    innovation : complex array, shape (freqs,)
        1 + D_l.
    delayed_command : complex array, shape (freqs,)
        D_b z^-D. [V/command]
    push_by_innovation, push_by_command : complex arrays, shape (regulated, freqs)
        W_l and W_b of each regulator for unit gain. [m/V], [m/command]
    """

    freq_hz: NDArray[np.float64]
    plant: NDArray[np.complex128]
    innovation: NDArray[np.complex128]
    delayed_command: NDArray[np.complex128]
    push_by_innovation: NDArray[np.complex128]
    push_by_command: NDArray[np.complex128]

    def response(self, gain: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Return ratio L with the usual sign: the closed loop's poles are where 1 + L = 0.

        Parameters
        ----------
        gain : float array, shape (regulated,)
            From `Regulators.linear_gain`. [command/m]

        Returns
        -------
        complex array, shape (freqs,)
        """
        w_l = gain @ self.push_by_innovation
        return np.asarray(-self.plant * w_l / self._controller(gain), dtype=np.complex128)

    def characteristic(self, gain: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Closed loop's characteristic polynomial over that of the open loop.

        F = (1 + D_l)(1 - W_b) + W_l (D_b z^-D - P): its zeros are the poles of the closed loop, its
        poles those of plant and observer left alone, and far out it tends to one.

        Parameters
        ----------
        gain : float array, shape (regulated,)
            As for `response`. [command/m]

        Returns
        -------
        complex array, shape (freqs,)
        """
        w_l = gain @ self.push_by_innovation
        return np.asarray(self._controller(gain) - w_l * self.plant, dtype=np.complex128)

    def _controller(self, gain: NDArray[np.float64]) -> NDArray[np.complex128]:
        w_l = gain @ self.push_by_innovation
        w_b = gain @ self.push_by_command
        below = self.innovation * (1 - w_b) + w_l * self.delayed_command
        return np.asarray(below, dtype=np.complex128)


def loop_terms(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    freq_hz: NDArray[np.float64] | NDArray[np.complex128],
) -> LoopTerms:
    """Work out the responses that do not depend on the regulators' gains.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    freq_hz : float or complex array, shape (freqs,)
        Up to half the rate, such as from `frequency_grid_hz`; with a negative imaginary part what
        grows. [Hz]

    Returns
    -------
    LoopTerms
    """
    z = np.asarray(np.exp(2j * np.pi * freq_hz / plant.rate_hz), dtype=np.complex128)
    heard, drive = observer.pickup_gain, observer.drive_gain
    known = observer.rotation
    d_b = rotation_bank(z, known, heard * drive) * z ** (-plant.delay_samples)
    w_l, w_b = (
        np.array(
            [
                rotation_bank(z, known[i : i + 1], steer * into[i : i + 1])
                for i, steer in enumerate(regulators.steering)
            ]
        ).reshape(-1, len(z))
        for into in (observer.predicted_correction, drive)
    )
    return LoopTerms(
        freq_hz=np.asarray(freq_hz.real, dtype=np.float64),
        plant=plant_response(plant, z),
        innovation=1 + rotation_bank(z, known, heard * observer.correction),
        delayed_command=d_b,
        push_by_innovation=w_l,
        push_by_command=w_b,
    )


def frequency_grid_hz(plant: Plant, observer: Observer) -> NDArray[np.float64]:
    """Frequencies dense enough to follow every resonance of plant and observer.

    Around each mode the offsets grow geometrically from a hundredth of its half bandwidth to a
    quarter of the rate, so that each circle of the Nyquist curve is drawn by some eighty points.
    Modes above half the rate stand at their alias.

    Returns
    -------
    float array, shape (freqs,)
        Rising, from 0 to half the rate, both included. [Hz]
    """
    half_rate = plant.rate_hz / 2
    heard = plant.sampled_freq_hz
    narrowest = float((plant.freq_hz * plant.damping_ratio).min()) / 100
    offsets = np.geomspace(narrowest, plant.rate_hz / 4, 160)
    around = heard[:, None] + np.concatenate([-offsets[::-1], [0.0], offsets])
    background = np.geomspace(1.0, 0.998 * half_rate, 400)
    follow = observer.bandwidth_hz * np.linspace(-6, 6, 121)
    known = heard[observer.modes][:, None] + follow
    grid = np.concatenate([[0.0], around.ravel(), background, known.ravel(), [half_rate]])
    return np.unique(grid[(grid >= 0) & (grid <= half_rate)])
