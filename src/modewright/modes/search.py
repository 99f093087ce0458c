"""Search for the lowest modes of one family of motions by shift-invert Lanczos.

Ericsson & Ruhe, Math. Comp. 35 (1980) 1251: the operator (K + σ M)⁻¹ M turns the lowest modes into
the largest, well separated ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from modewright.errors import SolveError
from modewright.modes.family import rigid_motions

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.factorise import Product
    from modewright.modes.family import Family

__all__ = ["FamilyModes", "ModeSearch"]

FamilyModes: TypeAlias = "tuple[NDArray[np.float64], NDArray[np.float64]]"
"""ω², rising [rad²/s²], and unknowns, shape (unknowns, modes), of unit modal mass."""

_FIRST_IN_PLANE = 4
_SPARE_DIRECTIONS = 8
# Directions for each mode wanted: more take fewer restarts, and longer where few would do.
_DIRECTIONS = 1.5


class ModeSearch:
    """Search for modes of one family, with the part of attached masses that stays within it.

    Parameters
    ----------
    family : Family
    added_mass : float array, shape (nodes, 3, functions, rank)
        Factor of the mass matrix of attached bodies. [sqrt(kg)]
    shift : float
        σ, > 0 for a free body, else 0. [rad²/s²]

    Attributes
    ----------
    attached : float array, shape (unknowns, rank)
        F of the family: attached bodies add F Fᵀ to its M. [sqrt(kg)]
    rigid : float array, shape (unknowns, motions)
        Rigid motions of a free body, orthonormal in M. [1/sqrt(kg)]
    solve, weigh : callable
        Products of vectors, shape (unknowns, k), with (K + σ M)⁻¹, free of rigid motion, and M.
    """

    def __init__(self, family: Family, added_mass: NDArray[np.float64], shift: float) -> None:
        self.family = family
        self.shift = shift
        self.attached = family.gathered(added_mass) * family.is_free[:, None]
        self.weigh = _weighing(family.weighing(), self.attached)
        shifted = family.shifted(shift)
        self._plain = shifted.multiply
        self.solve = _with_added_mass(shifted.solve, self.attached, shift)
        self.rigid = np.zeros((len(family.is_free), 0))
        if shift > 0:
            rigid = family.gathered(rigid_motions(family.system))
            size = np.linalg.norm(rigid, axis=0)
            # A motion that this family does not know is zero but for round-off.
            rigid = rigid[:, size > 1e-9 * size.max()]
            unit = np.linalg.cholesky(rigid.T @ self.weigh(rigid))
            self.rigid = np.asarray(np.linalg.solve(unit, rigid.T).T, dtype=np.float64)
            self.solve = _without_rigid_motion(self.solve, self.rigid, self.weigh(self.rigid))

    def multiply(self, vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        """Product with K + σ M."""
        added = self.attached @ (self.attached.T @ vectors)
        return self._plain(vectors) + self.shift * added

    def lowest(self, count: int, shape_error: float) -> FamilyModes:
        """Lowest elastic modes, by Lanczos iteration from a random start.

        The error of ω² is the square of that of the shape.
        """
        size = len(self.family.is_free)

        def operator(function: Product) -> LinearOperator:
            return LinearOperator((size, size), matvec=function, dtype=np.dtype(np.float64))

        start = np.random.default_rng(0).standard_normal(size) * self.family.is_free
        try:
            omega2, unknowns = eigsh(
                operator(self.solve),
                k=count,
                M=operator(self.weigh),
                sigma=-self.shift,
                OPinv=operator(self.solve),
                tol=shape_error,
                v0=start,
                ncv=min(round(_DIRECTIONS * count) + _SPARE_DIRECTIONS, size),
            )
        except ArpackNoConvergence as error:
            raise SolveError(
                f"modes: expected {count} converged modes, got {len(error.eigenvalues)}.",
                hint="Ask for fewer modes or another accuracy.",
            ) from error
        order = np.argsort(omega2)
        return omega2[order], unknowns[:, order]

    def among(self, others_rad2_s2: NDArray[np.float64], shape_error: float) -> FamilyModes:
        """All modes of the family among the lowest, as many as there are others, of both."""
        most = len(others_rad2_s2)
        count = min(_FIRST_IN_PLANE, most)
        while True:
            omega2, unknowns = self.lowest(count, shape_error)
            highest = np.sort(np.concatenate([omega2, others_rad2_s2]))[most - 1]
            if omega2[-1] >= highest or count == most:
                return omega2, unknowns
            count = min(2 * count, most)


def _weighing(plain: Product, attached: NDArray[np.float64]) -> Product:
    if attached.shape[1] == 0:
        return plain

    def weigh(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        return plain(vectors) + attached @ (attached.T @ vectors)

    return weigh


def _with_added_mass(plain: Product, attached: NDArray[np.float64], shift: float) -> Product:
    """Attached masses change the shifted matrix by σ F Fᵀ (Woodbury's identity)."""
    if shift == 0 or attached.shape[1] == 0:
        return plain
    spread = plain(attached)
    core = np.linalg.inv(np.eye(attached.shape[1]) / shift + attached.T @ spread)

    def solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        found = plain(right)
        return found - spread @ (core @ (attached.T @ found))

    return solve


def _without_rigid_motion(
    solve: Product, rigid: NDArray[np.float64], weighed: NDArray[np.float64]
) -> Product:
    """Keep solutions orthogonal to the rigid motions, which are known exactly.

    Left to the iteration, they would come out at the round-off of the stiffness, which for very
    thin sheet is not far below the lowest bending modes.
    """

    def solve_elastic(right: NDArray[np.float64]) -> NDArray[np.float64]:
        found = solve(right - weighed @ (rigid.T @ right))
        return found - rigid @ (weighed.T @ found)

    return solve_elastic
