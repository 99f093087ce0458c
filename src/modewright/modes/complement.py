"""Solve (K - λM) z = f among the fields that are M-orthogonal to the elastic modes already known.

There the matrix is positive definite if λ does not lie above them: conjugate gradients, with the
factorised stiffness as preconditioner, all modes side by side. The product with K is never formed:
the preconditioned residual has the residual for its product (Fox, Huang & Nash among others).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import SolveError
from modewright.modes.family import Family, rigid_motions
from modewright.modes.term_product import TermProduct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.solution import Solution

__all__ = ["Complement"]

_TOLERANCE = 1e-9
_MOST_STEPS = 400


class Complement:
    """What is M-orthogonal to the modes of a solution.

    Factorises the stiffness once.

    Parameters
    ----------
    solution : Solution
    """

    def __init__(self, solution: Solution) -> None:
        system = solution.system
        self._families = [Family(system=system, members=m) for m in system.families]
        # Where the body is free the stiffness alone cannot be factorised.
        is_free = solution.blank.hold is None
        self._shift = float(solution.omega2[0]) if is_free else 0.0
        self._solves = [family.shifted_solve(self._shift) for family in self._families]
        self._plain = TermProduct(system, system.mass)
        self._added = solution.added
        self._free = system.is_free[..., None]
        motions = rigid_motions(system)
        self._rigid = self._unit(motions) if is_free else motions[..., :0]
        self._known = np.concatenate([solution.shapes, self._rigid], axis=-1)
        self._weighed = self.weigh(self._known) * self._free

    def _unit(self, motions: NDArray[np.float64]) -> NDArray[np.float64]:
        """The same motions, orthogonal and of unit modal mass."""
        gram = np.tensordot(motions, self.weigh(motions), axes=([0, 1, 2], [0, 1, 2]))
        return np.asarray(motions @ np.linalg.inv(np.linalg.cholesky(gram)).T, dtype=np.float64)

    def weigh(self, fields: NDArray[np.float64]) -> NDArray[np.float64]:
        """Product with M, attached masses included."""
        return self._plain(fields) + _outer(self._added, self._added, fields)

    def solve(
        self, right: NDArray[np.float64], eigenvalues: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Solve for each mode.

        Parameters
        ----------
        right : float array, shape (nodes, 3, functions, modes)
            Its part along the known elastic modes does not count.
        eigenvalues : float array, shape (modes,)
            λ of each, not above the highest of the solution. [rad²/s²]

        Returns
        -------
        float array, shape (nodes, 3, functions, modes)

        Raises
        ------
        SolveError
            If the iteration does not converge.
        """
        forces = right * self._free
        along = np.tensordot(self._rigid, forces, axes=([0, 1, 2], [0, 1, 2]))
        enough = _TOLERANCE**2 * _dot(forces, self._precondition(forces))
        residual = self._dual(forces)
        found, step, answer = (np.zeros_like(residual) for _ in range(3))
        before = np.zeros(len(eigenvalues))
        for _ in range(_MOST_STEPS):
            raw = self._precondition(residual)
            pulled = residual - self._shift * self._plain(raw) - eigenvalues * self.weigh(raw)
            direction, product = self._primal(raw), self._dual(pulled * self._free)
            size = _dot(residual, direction)
            # Modes that are done stand still: going on would only gather round-off.
            is_open = size > enough
            if not np.any(is_open):
                # Rigid motions have λ = 0.
                return found - self._rigid @ (along / eigenvalues)
            size = np.where(is_open, size, 0.0)
            ratio = _quotient(size, before)
            step, answer = direction + ratio * step, product + ratio * answer
            length = _quotient(size, _dot(step, answer))
            found += length * step
            residual = (residual - length * answer) * is_open
            before = size
        raise SolveError(
            f"derivatives of shapes: expected convergence in {_MOST_STEPS} steps, got "
            f"{np.count_nonzero(before)} modes that have not settled.",
            hint="Ask for a few more modes: the highest lies too near the next one.",
        )

    def _precondition(self, fields: NDArray[np.float64]) -> NDArray[np.float64]:
        total = np.zeros_like(fields)
        for family, solve in zip(self._families, self._solves, strict=True):
            columns = family.gathered(fields)
            solved = [solve(c) if np.any(c) else np.zeros_like(c) for c in columns.T]
            total += family.spread(np.stack(solved, axis=1))
        return total

    def _dual(self, forces: NDArray[np.float64]) -> NDArray[np.float64]:
        """Forces without those that act on the known modes."""
        share = np.tensordot(self._known, forces, axes=([0, 1, 2], [0, 1, 2]))
        return forces - self._weighed @ share

    def _primal(self, fields: NDArray[np.float64]) -> NDArray[np.float64]:
        """Fields without their part along the known modes."""
        share = np.tensordot(self._weighed, fields, axes=([0, 1, 2], [0, 1, 2]))
        return fields - self._known @ share


def _outer(
    left: NDArray[np.float64], right: NDArray[np.float64], fields: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Left · rightᵀ · fields."""
    return np.asarray(left @ np.tensordot(right, fields, axes=([0, 1, 2], [0, 1, 2])))


def _dot(left: NDArray[np.float64], right: NDArray[np.float64]) -> NDArray[np.float64]:
    """Scalar product of each mode."""
    return np.asarray(np.einsum("ncfm,ncfm->m", left, right), dtype=np.float64)


def _quotient(above: NDArray[np.float64], below: NDArray[np.float64]) -> NDArray[np.float64]:
    """Zero where there is nothing left to divide by."""
    return np.divide(above, below, out=np.zeros_like(above), where=below > 0)
