"""Modes of different notes that lie so near that each moves the other through the base."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from modewright.instrument.coupling import coupled_notes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from modewright.instrument.base import BaseModes
    from modewright.instrument.coupling import CoupledModes, NoteMotion

__all__ = ["LEAST_SHARE", "ModeOnBase", "Pull", "Pulls", "pulls"]

Spot: TypeAlias = "tuple[int, int]"
"""Note and mode, counted from 0."""

LEAST_SHARE = 0.7
"""Of a mode's strain energy, what has to lie in one note for the mode to be that note's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """Two modes of different notes that lie so near that each moves the other.

    Parameters
    ----------
    first, second : tuple of (int, int)
        Note and mode of either, counted from 0; the first lies lower.
    apart_cents : float
        Distance of the two, each with the base but without the other. [cents]
    pull_cents : tuple of two floats
        How far either moves when the other is there: apart from each other if both signs point so.
        [cents]
    """

    first: Spot
    second: Spot
    apart_cents: float
    pull_cents: tuple[float, float]

    @property
    def size_cents(self) -> float:
        """The larger of the two. [cents]"""
        return max(abs(pull) for pull in self.pull_cents)


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeOnBase:
    """A mode of a note on a base that gives way, all other notes rigid.

    Parameters
    ----------
    spot : tuple of (int, int)
        Note and mode, counted from 0.
    freq_hz : float
        Of the coupled mode that has most of it. [Hz]
    share : float
        Of the strain energy of that mode, what lies in the note.
    """

    spot: Spot
    freq_hz: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulls:
    """What near modes do to each other through the base.

    Parameters
    ----------
    pairs : tuple of Pull
        The strongest first.
    not_own : tuple of ModeOnBase
        Modes in which the base takes so much part that they are one with it; they are in no pair.
    """

    pairs: tuple[Pull, ...]
    not_own: tuple[ModeOnBase, ...]


def pulls(notes: Sequence[NoteMotion], base: BaseModes, *, within_cents: float = 120.0) -> Pulls:
    """Pairs of near modes of different notes, and modes that are one with the base.

    Parameters
    ----------
    notes : sequence of NoteMotion
    base : BaseModes
    within_cents : float
        Pairs farther apart are left out. [cents]

    Returns
    -------
    Pulls

    Notes
    -----
    Each pair is solved with the base three times: both modes, and either alone; coupled modes are
    told by the strain energy that lies in the modes of the notes. Loss counts: two modes whose
    coupling is weaker than half the difference of their loss keep their pitch.
    """
    spots = [(n, m) for n, note in enumerate(notes) for m in range(len(note.freq_hz))]
    alone = {spot: _alone(notes, base, spot) for spot in spots}
    not_own = tuple(found for found in alone.values() if found.share < LEAST_SHARE)
    own = sorted(
        (spot for spot in spots if alone[spot].share >= LEAST_SHARE),
        key=lambda spot: alone[spot].freq_hz,
    )
    pairs: list[Pull] = []
    for place, low in enumerate(own):
        for high in own[place + 1 :]:
            apart_cents = 1200 * float(np.log2(alone[high].freq_hz / alone[low].freq_hz))
            if apart_cents > within_cents:
                break
            if low[0] != high[0]:
                pairs.append(_pull(notes, base, alone[low], alone[high]))
    return Pulls(pairs=tuple(sorted(pairs, key=lambda pull: -pull.size_cents)), not_own=not_own)


def _alone(notes: Sequence[NoteMotion], base: BaseModes, spot: Spot) -> ModeOnBase:
    modes = _solved(notes, base, [spot])
    place = int(np.argmax(modes.share[0]))
    return ModeOnBase(
        spot=spot, freq_hz=float(modes.freq_hz[place]), share=float(modes.share[0, place])
    )


def _pull(notes: Sequence[NoteMotion], base: BaseModes, low: ModeOnBase, high: ModeOnBase) -> Pull:
    modes = _solved(notes, base, [low.spot, high.spot])
    # Equal partners share both modes alike: which is whose says only the order.
    both = np.sort(modes.freq_hz[np.argsort(modes.share[:2].sum(axis=0))[-2:]])
    cents = 1200 * np.log2(both / np.array([low.freq_hz, high.freq_hz]))
    return Pull(
        first=low.spot,
        second=high.spot,
        apart_cents=1200 * float(np.log2(high.freq_hz / low.freq_hz)),
        pull_cents=(float(cents[0]), float(cents[1])),
    )


def _solved(notes: Sequence[NoteMotion], base: BaseModes, spots: Sequence[Spot]) -> CoupledModes:
    """The base with all notes as rigid bodies and these modes, which come first, note by note."""
    kept = [note.only([m for n, m in spots if n == number]) for number, note in enumerate(notes)]
    return coupled_notes(kept, base).modes()
