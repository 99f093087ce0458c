"""How loud each note is in the pickup of each other one: one matrix for each way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.instrument.coupling import CoupledNotes

__all__ = ["MechanicalCrosstalk", "NotePorts", "level_db", "mechanical_crosstalk"]

_NEAR_CENTS = 60.0
_LEAST_DB = -300.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NotePorts:
    """Where a note is pushed and heard.

    Parameters
    ----------
    freq_hz : float
        Of the mode that is played. [Hz]
    push, hear : float array, shape (modes,)
        Modal force per ampere and volts per modal coordinate; of the reference point if there is no
        driver or no pickup.
    """

    freq_hz: float
    push: NDArray[np.float64]
    hear: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "push", frozen_array(self.push))
        object.__setattr__(self, "hear", frozen_array(self.hear))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MechanicalCrosstalk:
    """What comes through the base.

    Parameters
    ----------
    level_db : float array, shape (notes, notes)
        Row: the pickup that hears; column: the note that is driven at its own pitch. Referred to
        what the own pickup of that note hears. [dB]
    own : complex array, shape (notes,)
        What the own pickup hears per ampere. [V/A]
    freq_hz : float array, shape (notes,)
        Pitch of each note on the base that gives way. [Hz]
    asymmetry : float
        Largest violation of reciprocity between the driven places, relative to the largest
        response.
    """

    level_db: NDArray[np.float64]
    own: NDArray[np.complex128]
    freq_hz: NDArray[np.float64]
    asymmetry: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "level_db", frozen_array(self.level_db))
        object.__setattr__(self, "own", frozen_array(self.own, complex))
        object.__setattr__(self, "freq_hz", frozen_array(self.freq_hz))


def level_db(ratio: NDArray[np.float64]) -> NDArray[np.float64]:
    """Level of a ratio, not below -300 dB. [dB]"""
    least = 10 ** (_LEAST_DB / 20)
    return 20 * np.log10(np.maximum(np.abs(ratio), least))


def mechanical_crosstalk(coupled: CoupledNotes, ports: Sequence[NotePorts]) -> MechanicalCrosstalk:
    """Drive each note at its pitch and listen to all.

    Parameters
    ----------
    coupled : CoupledNotes
    ports : sequence of NotePorts
        In the order of the notes.

    Returns
    -------
    MechanicalCrosstalk

    Notes
    -----
    The pitch of a note is the coupled frequency near its own at which it answers loudest.
    """
    count = len(ports)
    size = len(coupled.stiffness)
    push, hear = np.zeros((size, count)), np.zeros((size, count))
    for number, port in enumerate(ports):
        push[coupled.part(number), number] = port.push
        hear[coupled.part(number), number] = port.hear
    all_hz, _ = coupled.freq_and_loss()
    levels = np.zeros((count, count))
    own = np.zeros(count, dtype=np.complex128)
    pitch_hz = np.zeros(count)
    asymmetry = 0.0
    for number, port in enumerate(ports):
        near = all_hz[np.abs(1200 * np.log2(all_hz / port.freq_hz)) < _NEAR_CENTS]
        candidates = near if len(near) else np.array([port.freq_hz])
        answers = [
            (abs(hear[:, number] @ coupled.receptance(f) @ push[:, number]), f) for f in candidates
        ]
        pitch_hz[number] = max(answers)[1]
        response = coupled.receptance(float(pitch_hz[number]))
        heard = hear.T @ response @ push[:, number]
        own[number] = heard[number]
        levels[:, number] = level_db(np.abs(heard) / abs(heard[number]))
        between = push.T @ response @ push
        worst = np.abs(between - between.T).max() / np.abs(between).max()
        asymmetry = max(asymmetry, float(worst))
    return MechanicalCrosstalk(level_db=levels, own=own, freq_hz=pitch_hz, asymmetry=asymmetry)
