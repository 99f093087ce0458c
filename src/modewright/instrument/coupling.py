"""Notes on one base that gives way: one small eigenproblem, one matrix of what each does to others.

Every note brings its modes on a base that stands still and its inertia as a rigid body; the base
brings its own modes. The motion of the roots couples them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import check_shape, frozen_array

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.instrument.base import BaseModes

__all__ = ["CoupledNotes", "NoteMotion", "Pull", "coupled_notes", "pulls"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoteMotion:
    """A note as its base feels it.

    Parameters
    ----------
    name : str
    freq_hz, q : float array, shape (modes,)
        Of the modes on a base that stands still. [Hz], dimensionless
    labels : tuple of str, length modes
    momentum : float array, shape (modes, 3)
        Momentum along z, and angular momentum about x and y at the root, of each mass-normalised
        mode per velocity. [sqrt(kg)], [m sqrt(kg)]
    inertia : float array, shape (3, 3)
        Of the rigid body, for the same three motions. [kg], [kg m], [kg m²]
    """

    name: str
    freq_hz: NDArray[np.float64]
    q: NDArray[np.float64]
    labels: tuple[str, ...]
    momentum: NDArray[np.float64]
    inertia: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("freq_hz", "q", "momentum", "inertia"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        count = len(self.freq_hz)
        check_shape(self.q, "q", (count,))
        check_shape(self.momentum, "momentum", (count, 3))
        check_shape(self.inertia, "inertia", (3, 3))

    def only(self, modes: Sequence[int]) -> NoteMotion:
        """The note with some of its modes; its inertia stays whole."""
        keep = list(modes)
        return NoteMotion(
            name=self.name,
            freq_hz=self.freq_hz[keep],
            q=self.q[keep],
            labels=tuple(self.labels[i] for i in keep),
            momentum=self.momentum[keep],
            inertia=self.inertia,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoupledNotes:
    """Mass and stiffness of all notes and their base, in coordinates of modes.

    Parameters
    ----------
    mass : float array, shape (coordinates, coordinates)
        Symmetric. Modes of the notes, note by note, then those of the base.
    stiffness : complex array, shape (coordinates,)
        Diagonal; its imaginary part is the loss.
    starts : tuple of int
        First coordinate of each note, and that of the base.
    """

    mass: NDArray[np.float64]
    stiffness: NDArray[np.complex128]
    starts: tuple[int, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "mass", frozen_array(self.mass))
        object.__setattr__(self, "stiffness", frozen_array(self.stiffness, complex))

    def part(self, note: int) -> slice:
        """Coordinates of a note."""
        return slice(self.starts[note], self.starts[note + 1])

    def receptance(self, freq_hz: float) -> NDArray[np.complex128]:
        """Response of every coordinate to a force on every other at one frequency.

        Returns
        -------
        complex array, shape (coordinates, coordinates)
            Symmetric, since mass and stiffness are: reciprocity.
        """
        omega = 2 * np.pi * freq_hz
        return np.asarray(
            np.linalg.inv(np.diag(self.stiffness) - omega**2 * self.mass), dtype=np.complex128
        )

    def freq_and_loss(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Frequencies of the coupled modes and their loss factors 1/Q, rising. [Hz]

        Notes
        -----
        The loss is taken as hysteretic, λ = ω² (1 + j/Q), which near each mode is the same as
        viscous damping of that Q.
        """
        # The mass is positive: its Cholesky factor brings the problem to standard form.
        inverse = np.linalg.inv(np.linalg.cholesky(self.mass))
        squares = np.linalg.eigvals(inverse @ np.diag(self.stiffness) @ inverse.T)
        squares = squares[np.argsort(squares.real)]
        return np.sqrt(np.abs(squares.real)) / (2 * np.pi), squares.imag / squares.real


def coupled_notes(notes: Sequence[NoteMotion], base: BaseModes) -> CoupledNotes:
    """Put notes on a base.

    Parameters
    ----------
    notes : sequence of NoteMotion
    base : BaseModes
        Whose roots are those of the notes, in the same order.

    Returns
    -------
    CoupledNotes

    Notes
    -----
    With q the motion of a note relative to its root, whose rise and turnings are T b:
    q'' + ω² q + P T b'' = f and (M + Σ Tᵀ R T) b'' + K b + Σ Tᵀ Pᵀ q'' = 0, where P is the momentum
    of the modes and R the inertia of the rigid note. What modes beyond those given would add to R
    less P Pᵀ stays rigid.

    References
    ----------
    W. C. Hurty, Dynamic analysis of structural systems using component modes, AIAA J. 3 (1965) 678;
    R. R. Craig and M. C. C. Bampton, AIAA J. 6 (1968) 1313: modes with fixed interface.
    """
    starts = np.cumsum([0, *(len(note.freq_hz) for note in notes)])
    count = int(starts[-1]) + len(base.freq_hz)
    mass = np.eye(count)
    own = slice(int(starts[-1]), count)
    mass[own, own] = np.diag(base.mass)
    stiffness = np.zeros(count, dtype=np.complex128)
    stiffness[own] = base.mass * (2 * np.pi * base.freq_hz) ** 2 * (1 + 1j / base.q)
    for number, note in enumerate(notes):
        part = slice(int(starts[number]), int(starts[number + 1]))
        root = base.root_motion[number]
        stiffness[part] = (2 * np.pi * note.freq_hz) ** 2 * (1 + 1j / note.q)
        mass[part, own] = note.momentum @ root
        mass[own, part] = mass[part, own].T
        mass[own, own] += root.T @ note.inertia @ root
    return CoupledNotes(
        mass=mass, stiffness=stiffness, starts=tuple(int(start) for start in starts)
    )


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

    first: tuple[int, int]
    second: tuple[int, int]
    apart_cents: float
    pull_cents: tuple[float, float]

    @property
    def size_cents(self) -> float:
        """The larger of the two. [cents]"""
        return max(abs(pull) for pull in self.pull_cents)


def pulls(
    notes: Sequence[NoteMotion], base: BaseModes, *, within_cents: float = 120.0
) -> tuple[Pull, ...]:
    """Pairs of near modes of different notes, the strongest pull first.

    Parameters
    ----------
    notes : sequence of NoteMotion
    base : BaseModes
    within_cents : float
        Pairs farther apart are left out. [cents]

    Returns
    -------
    tuple of Pull

    Notes
    -----
    Each pair is solved with the base three times: both modes, and either alone. Loss counts: two
    modes whose coupling is weaker than half the difference of their loss keep their pitch.
    """
    found: list[Pull] = []
    spots = [(n, m) for n, note in enumerate(notes) for m in range(len(note.freq_hz))]
    freq = {(n, m): float(notes[n].freq_hz[m]) for n, m in spots}
    spots.sort(key=lambda spot: freq[spot])
    for place, low in enumerate(spots):
        for high in spots[place + 1 :]:
            if 1200 * np.log2(freq[high] / freq[low]) > within_cents:
                break
            if low[0] != high[0]:
                found.append(_pull(notes, base, low, high))
    return tuple(sorted(found, key=lambda pull: -pull.size_cents))


def _pull(
    notes: Sequence[NoteMotion], base: BaseModes, low: tuple[int, int], high: tuple[int, int]
) -> Pull:
    alone = [_near(notes, base, [spot], spot) for spot in (low, high)]
    both = _pair(notes, base, low, high)
    cents = [1200 * float(np.log2(b / a)) for a, b in zip(sorted(alone), both, strict=True)]
    in_order = alone[0] <= alone[1]
    first, second = (low, high) if in_order else (high, low)
    return Pull(
        first=first,
        second=second,
        apart_cents=abs(1200 * float(np.log2(alone[1] / alone[0]))),
        pull_cents=(cents[0], cents[1]),
    )


def _solved(
    notes: Sequence[NoteMotion], base: BaseModes, spots: Sequence[tuple[int, int]]
) -> NDArray[np.float64]:
    """Frequencies of the base with all notes as rigid bodies and these modes. [Hz]"""
    kept = [note.only([m for n, m in spots if n == number]) for number, note in enumerate(notes)]
    return coupled_notes(kept, base).freq_and_loss()[0]


def _near(
    notes: Sequence[NoteMotion],
    base: BaseModes,
    spots: Sequence[tuple[int, int]],
    spot: tuple[int, int],
) -> float:
    freq_hz = _solved(notes, base, spots)
    wanted = notes[spot[0]].freq_hz[spot[1]]
    return float(freq_hz[np.argmin(np.abs(np.log(freq_hz / wanted)))])


def _pair(
    notes: Sequence[NoteMotion], base: BaseModes, low: tuple[int, int], high: tuple[int, int]
) -> tuple[float, float]:
    """The two coupled frequencies nearest to the pair, rising. [Hz]"""
    freq_hz = _solved(notes, base, [low, high])
    middle = np.sqrt(notes[low[0]].freq_hz[low[1]] * notes[high[0]].freq_hz[high[1]])
    near = np.sort(freq_hz[np.argsort(np.abs(np.log(freq_hz / middle)))[:2]])
    return float(near[0]), float(near[1])
