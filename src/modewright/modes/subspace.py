"""Modes of K φ = ω² M φ out of good guesses, by inverse iteration on a growing subspace.

Each round applies (K + σ M)⁻¹ M to the modes that have not settled and adds what comes out to the
subspace, in which the modes are found by Rayleigh's principle: the block Lanczos method with a
start that is known already (Golub & Van Loan, Matrix Computations, 3rd ed. 1996, sec. 9.2.6;
subspace iteration: Bathe & Wilson 1972; both from memory). From the modes of the same body one
order lower two rounds do, where a search from nothing takes five solutions for each mode.

Attached masses couple bending (b) and motion in the plane (p) by M alone, through a matrix of low
rank: K + σ M = A + σ (F_b F_pᵀ + F_p F_bᵀ), A without coupling. With A⁻¹ F in the subspace of each
family, one inverse iteration of the whole lies in what the families reach by themselves.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import SolveError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.modes.search import FamilyModes, ModeSearch

__all__ = ["ROUGH", "coupled_modes", "refined_modes"]

ROUGH = 1e-3
"""Error of the shapes from which another solution starts."""

_MOST_ROUNDS = 12
_MOST_PASSES = 3
# Round-off of shapes of sheet two thousand times as long as thick, by their energy.
_SMALL = 1e-3
_TOO_THIN = "Sheet thousands of times as long as thick needs a lower accuracy, or more thickness."
# Parts of a mode of unit mass that are smaller are not worth a solution of their own; squared.
_LEAST_PART = 1e-9
# What is new in a vector and smaller is round-off; squared.
_LEAST_NEW = 1e-14
# Where all is larger, taking away what is known once is enough, and round-off stays small in what
# the matrix would make of it; squared.
_CLEARLY_NEW = 1e-5


def coupled_modes(
    searches: Sequence[ModeSearch],
    apart: Sequence[FamilyModes],
    count: int,
    shape_error: float,
) -> tuple[NDArray[np.float64], list[NDArray[np.float64]]]:
    """Modes of families that attached masses couple, out of the modes of each by itself.

    Parameters and results are those of `refined_modes`, with ω² and modes of each family. Where
    `shape_error` is `ROUGH`, what the families and the forces of the masses span is enough.
    """
    spans = [_Span(search) for search in searches]
    for span, (omega2, unknowns) in zip(spans, apart, strict=True):
        span.add_modes(omega2, unknowns)
        span.add_static()
    wanted = sum(len(omega2) for omega2, _ in apart)
    if shape_error >= ROUGH:
        omega2, parts = _ritz(spans, wanted)
        return omega2, _spread(spans, parts)
    return _settled(spans, wanted, count, shape_error)


def refined_modes(
    searches: Sequence[ModeSearch],
    guesses: Sequence[NDArray[np.float64]],
    wanted: int,
    count: int,
    shape_error: float,
) -> tuple[NDArray[np.float64], list[NDArray[np.float64]]]:
    """Improve modes until they have settled.

    Parameters
    ----------
    searches : sequence of ModeSearch
        One for each family.
    guesses : sequence of float arrays, shape (unknowns, any number)
        For each family what spans its part of the modes, about.
    wanted : int
        How many modes to give; a few more than have to settle hasten the iteration.
    count : int
        How many have to settle.
    shape_error : float
        Relative change of its shape at which a mode has settled; that of ω² + σ is the square. At
        `ROUGH` or above, one inverse iteration of the guess is taken as it is.

    Returns
    -------
    omega2_rad2_s2 : float array, shape (modes,)
        Rising; those after `count` are less accurate. [rad²/s²]
    parts : list of float arrays, shape (unknowns, modes)
        The part of each family in the modes, which are orthonormal in M. [1/sqrt(kg)]

    Raises
    ------
    SolveError
        If some modes do not settle.
    """
    spans = [_Span(search) for search in searches]
    for span, guess in zip(spans, guesses, strict=True):
        span.add_guess(guess)
        if len(searches) > 1 and span.attached.shape[0] > 0:
            span.add_static()
    if shape_error >= ROUGH:
        omega2, parts = _ritz(spans, wanted)
        return omega2, _spread(spans, parts)
    return _settled(spans, wanted, count, shape_error)


def _settled(
    spans: Sequence[_Span], wanted: int, count: int, shape_error: float
) -> tuple[NDArray[np.float64], list[NDArray[np.float64]]]:
    """Iterate until the lowest modes no longer change."""
    omega2, parts = _ritz(spans, wanted)
    change, pending = np.ones(count), np.arange(count)
    for _ in range(_MOST_ROUNDS):
        if len(omega2) < count:
            raise SolveError(
                f"modes: expected {count} modes, got {len(omega2)} that stand out of round-off.",
                hint=_TOO_THIN,
            )
        for span, part in zip(spans, parts, strict=True):
            span.add_iterated(part[:, pending])
        known = [len(part) for part in parts]
        omega2, parts = _ritz(spans, wanted)
        last, change = change, _new_share(spans, parts, known)[:count]
        # Changes shrink like a geometric series.
        left = change * np.minimum(1.0, change / np.maximum(last, np.finfo(float).tiny))
        # What hardly falls any more and is small is round-off.
        is_noise = (change < _SMALL) & (change > last / 2)
        pending = np.nonzero((left > shape_error) & ~is_noise)[0]
        if len(pending) == 0:
            return omega2, _spread(spans, parts)
    raise SolveError(
        f"modes: expected {count} modes that settle in {_MOST_ROUNDS} rounds, got "
        f"{count - len(pending)}.",
        hint=f"Ask for fewer modes or another accuracy. {_TOO_THIN}",
    )


def _spread(
    spans: Sequence[_Span], parts: Sequence[NDArray[np.float64]]
) -> list[NDArray[np.float64]]:
    return [span.spread(part) for span, part in zip(spans, parts, strict=True)]


def _new_share(
    spans: Sequence[_Span], parts: Sequence[NDArray[np.float64]], known: Sequence[int]
) -> NDArray[np.float64]:
    """How much of each mode, measured by K + σ M, lies in the vectors added last."""
    new = sum(np.sum(part[size:] ** 2, axis=0) for part, size in zip(parts, known, strict=True))
    total = sum(span.stiffness @ part**2 for span, part in zip(spans, parts, strict=True))
    return np.sqrt(np.asarray(new / total, dtype=np.float64))


class _Span:
    """Subspace of one family: its rigid motions first, then vectors free of them.

    The vectors are orthonormal in K + σ M of the family. What this matrix makes of them is known
    from how they came about: a solution gives its right-hand side back.
    """

    def __init__(self, search: ModeSearch) -> None:
        self._search = search
        self.shift = search.shift
        self.rigid_count = search.rigid.shape[1]
        self._vectors = np.zeros((len(search.rigid), 0))
        self._images = self._vectors
        self._weighed = self._vectors

    @property
    def stiffness(self) -> NDArray[np.float64]:
        """K + σ M of the family by itself, shape (vectors,): the diagonal of a diagonal matrix."""
        rigid = np.full(self.rigid_count, self.shift)
        return np.concatenate([rigid, np.ones(self._vectors.shape[1])])

    @property
    def mass(self) -> NDArray[np.float64]:
        """M of the family by itself, shape (vectors, vectors)."""
        return _block_diagonal(np.eye(self.rigid_count), self._vectors.T @ self._weighed)

    @property
    def attached(self) -> NDArray[np.float64]:
        """Fᵀ applied to the vectors, shape (rank, vectors)."""
        factor = self._search.attached.T
        return np.concatenate([factor @ self._search.rigid, factor @ self._vectors], axis=1)

    def spread(self, parts: NDArray[np.float64]) -> NDArray[np.float64]:
        """Unknowns of combinations of the vectors."""
        still = self._search.rigid @ parts[: self.rigid_count]
        return still + self._vectors @ parts[self.rigid_count :]

    def add_modes(self, omega2: NDArray[np.float64], unknowns: NDArray[np.float64]) -> None:
        """Add modes of the family by itself."""
        self._add(unknowns, self._search.weigh(unknowns) * (omega2 + self.shift))

    def add_guess(self, guess: NDArray[np.float64]) -> None:
        """Add inverse iteration of vectors that are the family's part of the modes, about."""
        rigid = self._search.rigid
        weighed = self._search.weigh(guess)
        still = rigid.T @ weighed
        chosen = _worth_solving(guess.T @ weighed - still.T @ still)
        self._add_solutions(weighed @ chosen - self._search.weigh(rigid @ (still @ chosen)))

    def add_static(self) -> None:
        """Add how the family yields to the forces of attached bodies."""
        self._add_solutions(self._search.attached)

    def add_iterated(self, parts: NDArray[np.float64]) -> None:
        """Add inverse iteration of combinations of the vectors."""
        moving = parts[self.rigid_count :]
        chosen = moving @ _worth_solving(moving.T @ (self._vectors.T @ self._weighed) @ moving)
        self._add_solutions(self._weighed @ chosen)

    def _add_solutions(self, right: NDArray[np.float64]) -> None:
        if right.shape[1] > 0:
            self._add(self._search.solve(right), right)

    def _add(self, vectors: NDArray[np.float64], images: NDArray[np.float64]) -> None:
        """Add what is new in some vectors."""
        images = images - self._search.weigh(self._search.rigid) @ (self._search.rigid.T @ images)
        energy = np.einsum("nk,nk->k", vectors, images)
        # Below zero it is round-off, and there is nothing in the vector.
        is_some = energy > 0
        size = np.sqrt(energy[is_some])
        vectors, images = vectors[:, is_some] / size, images[:, is_some] / size
        if self._vectors.shape[1] == 0:
            vectors, images, _ = _whitened(vectors, images)
        else:
            known = self._images.T @ vectors
            vectors, images, least = _whitened(
                vectors - self._vectors @ known, images - self._images @ known
            )
            # Round-off may rule what little is new: only the matrix knows how stiff that is.
            for _ in range(_MOST_PASSES):
                if least > _CLEARLY_NEW:
                    break
                vectors = self._without_known(vectors)
                vectors, images, least = _whitened(vectors, self._search.multiply(vectors))
        self._vectors = np.concatenate([self._vectors, vectors], axis=1)
        self._images = np.concatenate([self._images, images], axis=1)
        self._weighed = np.concatenate([self._weighed, self._search.weigh(vectors)], axis=1)

    def _without_known(self, vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        rigid = self._search.rigid
        vectors = vectors - rigid @ (rigid.T @ self._search.weigh(vectors))
        return vectors - self._vectors @ (self._images.T @ vectors)


def _whitened(
    vectors: NDArray[np.float64], images: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Orthonormal in the matrix of the images; and the least square that made its way."""
    share, turn = np.linalg.eigh(vectors.T @ images)
    new = share > _LEAST_NEW
    to_unit = np.asarray(turn[:, new] / np.sqrt(share[new]), dtype=np.float64)
    return vectors @ to_unit, images @ to_unit, float(share[new].min(initial=1.0))


def _worth_solving(mass: NDArray[np.float64]) -> NDArray[np.float64]:
    """Combinations, shape (all, few), that carry the mass of some vectors."""
    share, turn = np.linalg.eigh((mass + mass.T) / 2)
    return turn[:, share > _LEAST_PART]


def _block_diagonal(first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
    between = np.zeros((len(first), len(second)))
    return np.block([[first, between], [between.T, second]])


def _ritz(
    spans: Sequence[_Span], count: int
) -> tuple[NDArray[np.float64], list[NDArray[np.float64]]]:
    """Lowest elastic modes in the joint subspace: ω² and the coefficients for each family."""
    mass = np.zeros((0, 0))
    for span in spans:
        mass = _block_diagonal(mass, span.mass)
    ends = np.cumsum([len(span.stiffness) for span in spans])
    attached = np.concatenate([span.attached for span in spans], axis=1)
    coupling = attached.T @ attached
    for start, end in itertools.pairwise([0, *ends]):
        coupling[start:end, start:end] = 0.0
    shift = spans[0].shift
    stiffness = np.diag(np.concatenate([span.stiffness for span in spans])) + shift * coupling
    # The largest 1/(ω² + σ) are the most accurate.
    to_unit = np.linalg.inv(np.linalg.cholesky(stiffness)).T
    inverse, parts = np.linalg.eigh(to_unit.T @ (mass + coupling) @ to_unit)
    rigid = sum(span.rigid_count for span in spans)
    chosen = np.arange(len(inverse))[::-1][rigid : rigid + count]
    vectors = (to_unit @ parts[:, chosen]) / np.sqrt(inverse[chosen])
    return 1 / inverse[chosen] - shift, np.split(vectors, ends[:-1])
