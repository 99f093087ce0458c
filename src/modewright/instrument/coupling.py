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

__all__ = ["CoupledModes", "CoupledNotes", "NoteMotion", "coupled_notes"]


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
class CoupledModes:
    """Modes of notes and base together.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        Rising. [Hz]
    loss : float array, shape (modes,)
        Loss factors 1/Q.
    share : float array, shape (coordinates, modes)
        Of the strain energy of each mode, what lies in each coordinate; columns add to 1, and
        without loss so do rows.
    """

    freq_hz: NDArray[np.float64]
    loss: NDArray[np.float64]
    share: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("freq_hz", "loss", "share"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


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

    def modes(self) -> CoupledModes:
        """Modes of all together.

        Notes
        -----
        The loss is hysteretic, λ = ω² (1 + j/Q), which near each mode is the same as viscous
        damping of that Q. A base on soft feet is far below every note: there it loses by 1/Q of its
        feet, where a viscous one would lose more and more.
        """
        # The mass is positive: its Cholesky factor brings the problem to standard form.
        inverse = np.linalg.inv(np.linalg.cholesky(self.mass))
        found = np.linalg.eig(inverse @ np.diag(self.stiffness) @ inverse.T)
        squares = np.asarray(found.eigenvalues, dtype=np.complex128)
        order = np.argsort(squares.real)
        squares = squares[order]
        motion = inverse.T @ np.asarray(found.eigenvectors, dtype=np.complex128)[:, order]
        strain = self.stiffness.real[:, None] * np.abs(motion) ** 2
        return CoupledModes(
            freq_hz=np.sqrt(np.abs(squares.real)) / (2 * np.pi),
            loss=squares.imag / squares.real,
            share=strain / strain.sum(axis=0),
        )


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
