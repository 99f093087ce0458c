"""How loud each note is in the pickup of each other one: one matrix for each way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.instrument.pulls import LEAST_SHARE
from modewright.pitch import cents_between

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.instrument.coupling import CoupledModes, CoupledNotes

__all__ = ["MechanicalCrosstalk", "NotePorts", "level_db", "mechanical_crosstalk"]

_LEAST_DB = -300.0
# Modes no farther apart sound as one.
_ONE_PITCH_CENTS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NotePorts:
    """Where a note is pushed and heard.

    Parameters
    ----------
    mode : int
        Position of the mode that is played.
    freq_hz : float
        Of that mode on a base that stands still. [Hz]
    push, hear : float array, shape (modes,)
        Modal force per ampere and volts per modal coordinate; of the reference point if there is no
        driver or no pickup.
    """

    mode: int
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
    own_share : float array, shape (notes,)
        Of the strain energy of the mode that sounds it, what lies in the note; the rest is in the
        base and in other notes.
    spread_cents : float array, shape (notes,)
        How far apart the modes lie that together hold seven tenths of the note; 0 for a note that
        sounds as one mode. [cents]
    asymmetry : float
        Largest violation of reciprocity between the driven places, relative to the largest
        response.
    """

    level_db: NDArray[np.float64]
    own: NDArray[np.complex128]
    freq_hz: NDArray[np.float64]
    own_share: NDArray[np.float64]
    spread_cents: NDArray[np.float64]
    asymmetry: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "level_db", frozen_array(self.level_db))
        object.__setattr__(self, "own", frozen_array(self.own, complex))
        for name in ("freq_hz", "own_share", "spread_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def has_one_pitch(self) -> NDArray[np.bool_]:
        """Whether each note has one pitch, shape (notes,), or is split with base or neighbours."""
        return self.spread_cents <= _ONE_PITCH_CENTS


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
    The pitch of a note is that of the coupled mode which has most of its strain energy in the note.
    Two equal notes share two modes alike, however little they do to each other: modes that together
    hold seven tenths of a note give its pitch as their mean, weighted by what each holds; it is
    driven at the loudest of them.
    """
    count = len(ports)
    size = len(coupled.stiffness)
    push, hear = np.zeros((size, count)), np.zeros((size, count))
    for number, port in enumerate(ports):
        push[coupled.part(number), number] = port.push
        hear[coupled.part(number), number] = port.hear
    modes = coupled.modes()
    levels = np.zeros((count, count))
    own = np.zeros(count, dtype=np.complex128)
    pitches = [_pitch(modes, coupled.starts[n] + port.mode) for n, port in enumerate(ports)]
    asymmetry = 0.0
    for number, pitch in enumerate(pitches):
        answers = [coupled.receptance(freq_hz) for freq_hz in pitch.holding_hz]
        response = max(answers, key=lambda h: abs(hear[:, number] @ h @ push[:, number]))
        heard = hear.T @ response @ push[:, number]
        own[number] = heard[number]
        levels[:, number] = level_db(np.abs(heard) / abs(heard[number]))
        between = push.T @ response @ push
        worst = np.abs(between - between.T).max() / np.abs(between).max()
        asymmetry = max(asymmetry, float(worst))
    return MechanicalCrosstalk(
        level_db=levels,
        own=own,
        freq_hz=np.array([pitch.freq_hz for pitch in pitches]),
        own_share=np.array([pitch.share for pitch in pitches]),
        spread_cents=np.array([pitch.spread_cents for pitch in pitches]),
        asymmetry=asymmetry,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pitch:
    freq_hz: float
    share: float
    holding_hz: tuple[float, ...]

    @property
    def spread_cents(self) -> float:
        return cents_between(max(self.holding_hz), min(self.holding_hz))


def _pitch(modes: CoupledModes, coordinate: int) -> _Pitch:
    """Pitch at which a mode of a note, by itself one coordinate, sounds with all others."""
    share = modes.share[coordinate]
    falling = np.argsort(-share)
    enough = int(np.searchsorted(np.cumsum(share[falling]), LEAST_SHARE)) + 1
    holding = falling[:enough]
    mean_octaves = np.average(np.log2(modes.freq_hz[holding]), weights=share[holding])
    return _Pitch(
        freq_hz=float(2**mean_octaves),
        share=float(share[holding[0]]),
        holding_hz=tuple(modes.freq_hz[holding].tolist()),
    )
