"""The loop's characteristic function near the poles of one mode, where the plain one is singular.

The closed loop's characteristic polynomial over that of plant and observer left alone,

    F = (1 + D_l)(1 - W_b) - W_l (P - D_b z^-D)

(`modewright.loop.transfer`), has poles wherever plant or observer have one, and its zeros lie next
to them. Multiplied by z - λ for every bank that knows the mode, each term of it stays finite there,
so that a zero can be found to the last digits however close it lies.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["ClearedCharacteristic", "cleared_characteristic"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bank:
    """``Σ ½ [x/(z - λ) + conj]`` with the term of one mode kept apart: rest + residue/(z - λ)."""

    rest: NDArray[np.complex128]
    residue: NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClearedCharacteristic:
    """F without the poles of one mode, for points that each belong to a mode.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
        The observer's modes may be tuned otherwise than the plant's.
    owner : int array, shape (points,)
        Mode of the plant next to which each point lies.
    gain : float array, shape (regulated,)
        Linear gains of the regulators. [command/m]
    row : int array, shape (points,)
        Row of the owner in the observer; -1 where the observer does not know it.
    is_regulated : bool array, shape (points,)
        Whether a regulator with some gain acts on the owner.
    """

    plant: Plant
    observer: Observer
    regulators: Regulators
    owner: NDArray[np.int64]
    gain: NDArray[np.float64]
    row: NDArray[np.int64]
    is_regulated: NDArray[np.bool_]

    def at(self, z: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """F (z - λ) (z - λ̂)^n: n is 0 for an unobserved, 1 for an observed, 2 for a treated mode.

        Parameters
        ----------
        z : complex array, shape (points,)
            Places in the z plane.

        Returns
        -------
        complex array, shape (points,)
            For a treated mode it also vanishes at λ̂: both banks of the observer know the mode, and
            their difference dies out by itself.
        """
        plant, observer = self.plant, self.observer
        known, heard, drive = observer.rotation, observer.pickup_gain, observer.drive_gain
        late = z ** (-plant.delay_samples)
        slow = plant.input_sections.at(z) * plant.output_sections.at(z) * late
        body = _bank(z, plant.rotation, plant.drive_gain * plant.pickup_gain, self.owner)
        by_innovation = _bank(z, known, heard * observer.correction, self.row)
        by_command = _bank(z, known, heard * drive, self.row)
        count = len(self.gain)
        push = self.gain * self.regulators.steering
        treated = np.where(self.row < count, self.row, -1)
        into_l = _bank(z, known[:count], push * observer.predicted_correction[:count], treated)
        into_b = _bank(z, known[:count], push * drive[:count], treated)

        own = z - plant.rotation[self.owner]
        seen = self.from_observer(z)
        acted = np.where(self.is_regulated, seen, 1)
        innovation = (1 + by_innovation.rest) * seen + by_innovation.residue
        w_l = into_l.rest * acted + into_l.residue
        one_less_w_b = (1 - into_b.rest) * acted - into_b.residue
        missed = slow * (body.rest * own + body.residue) * seen
        missed = missed - late * (by_command.rest * seen + by_command.residue) * own
        return own * innovation * one_less_w_b - w_l * missed

    def from_observer(self, z: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Distance z - λ̂ from the observer's own pole; 1 where the observer has none."""
        rotation = self.observer.rotation[self.row] if len(self.observer.rotation) else 1
        return np.where(self.row >= 0, z - rotation, 1)


def cleared_characteristic(
    plant: Plant,
    observer: Observer,
    regulators: Regulators,
    gain: NDArray[np.float64],
    owner: NDArray[np.int64],
) -> ClearedCharacteristic:
    """Make the characteristic function for points next to these modes.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    gain : float array, shape (regulated,)
        [command/m]
    owner : int array, shape (points,)
        Index of a mode of the plant for each point.

    Returns
    -------
    ClearedCharacteristic
    """
    row_of = np.full(plant.mode_count, -1)
    row_of[observer.modes] = np.arange(len(observer.modes))
    row = row_of[owner]
    acts = np.append(gain != 0, np.zeros(len(observer.modes) - len(gain) + 1, dtype=bool))
    return ClearedCharacteristic(
        plant=plant,
        observer=observer,
        regulators=regulators,
        owner=owner,
        gain=gain,
        row=row,
        is_regulated=acts[row],
    )


def _bank(
    z: NDArray[np.complex128],
    rotation: NDArray[np.complex128],
    product: NDArray[np.complex128],
    left_out: NDArray[np.int64],
) -> _Bank:
    """Bank at each point without the term `left_out` (-1 for none), and that term's residue."""
    apart = left_out[:, None] == np.arange(len(rotation))
    distance = np.where(apart, 1, z[:, None] - rotation)
    upper = np.where(apart, 0, product / distance)
    lower = np.conj(product) / (z[:, None] - np.conj(rotation))
    residue = np.where(apart, product, 0).sum(axis=1) / 2
    return _Bank(rest=(upper + lower).sum(axis=1) / 2, residue=residue)
