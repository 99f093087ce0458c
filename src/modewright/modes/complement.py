"""Solve (K - λM) z = f among the fields that are M-orthogonal to the elastic modes already known.

There the matrix is positive definite if λ does not lie above them: conjugate gradients, with the
factorised stiffness as preconditioner, all modes side by side. The product with K is never formed:
the preconditioned residual has the residual for its product (Fox, Huang & Nash among others).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import SolveError
from modewright.modes.family import Family, rigid_motions
from modewright.modes.term_product import TermProduct

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.modes.solution import Solution

__all__ = ["Complement", "SolvedBody", "solved_sheet"]

_TOLERANCE = 1e-9
_MOST_STEPS = 400


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolvedBody:
    """A body whose lowest modes are known, over its unknowns as plain vectors.

    Parameters
    ----------
    precondition : callable
        Product with the inverse of K + shift times what `plain` multiplies with.
    plain, weigh : callables
        Products with the mass of the metal, and with all mass.
    shift_rad2_s2 : float
        0 where K alone can be inverted. [rad²/s²]
    is_free : bool array, shape (unknowns,)
        Which unknowns are not held.
    modes, motions : float arrays, shape (unknowns, modes), (unknowns, 0 or 6)
        Modes of unit mass; motions of a free body that strain nothing, of any.
    """

    precondition: Callable[[NDArray[np.float64]], NDArray[np.float64]]
    plain: Callable[[NDArray[np.float64]], NDArray[np.float64]]
    weigh: Callable[[NDArray[np.float64]], NDArray[np.float64]]
    shift_rad2_s2: float
    is_free: NDArray[np.bool_]
    modes: NDArray[np.float64]
    motions: NDArray[np.float64]


def solved_sheet(solution: Solution) -> SolvedBody:
    """Factorise the stiffness of a sheet.

    Parameters
    ----------
    solution : Solution

    Returns
    -------
    SolvedBody
        Unknowns node by node, component by component.
    """
    system, shape = solution.system, solution.system.shape
    families = [Family(system=system, members=m) for m in system.families]
    # Where the body is free the stiffness alone cannot be factorised.
    is_free = solution.blank.hold is None
    shift = float(solution.omega2[0]) if is_free else 0.0
    solves = [family.shifted_solve(shift) for family in families]
    product = TermProduct(system, system.mass)

    def fielded(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        return vectors.reshape(*shape, vectors.shape[1])

    def plain(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        return product(fielded(vectors)).reshape(vectors.shape)

    added = solution.added.reshape(int(np.prod(shape)), -1)

    def precondition(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        fields = fielded(vectors)
        total = np.zeros_like(fields)
        for family, solve in zip(families, solves, strict=True):
            columns = family.gathered(fields)
            solved = [solve(c) if np.any(c) else np.zeros_like(c) for c in columns.T]
            total += family.spread(np.stack(solved, axis=1))
        return total.reshape(vectors.shape)

    size, motions = len(added), rigid_motions(system).reshape(len(added), -1)
    return SolvedBody(
        precondition=precondition,
        plain=plain,
        weigh=lambda vectors: plain(vectors) + added @ (added.T @ vectors),
        shift_rad2_s2=shift,
        is_free=system.is_free.reshape(size),
        modes=solution.shapes.reshape(size, -1),
        motions=motions if is_free else motions[:, :0],
    )


class Complement:
    """What is M-orthogonal to the known modes of a body.

    Parameters
    ----------
    body : SolvedBody
    """

    def __init__(self, body: SolvedBody) -> None:
        self._body = body
        self._free = body.is_free[:, None]
        self._rigid = self._unit(body.motions)
        self._known = np.concatenate([body.modes, self._rigid], axis=1)
        self._weighed = body.weigh(self._known) * self._free

    def _unit(self, motions: NDArray[np.float64]) -> NDArray[np.float64]:
        """The same motions, orthogonal and of unit modal mass."""
        if motions.shape[1] == 0:
            return motions
        gram = motions.T @ self._body.weigh(motions)
        return np.asarray(motions @ np.linalg.inv(np.linalg.cholesky(gram)).T, dtype=np.float64)

    def solve(
        self, right: NDArray[np.float64], eigenvalues: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Solve for each mode.

        Parameters
        ----------
        right : float array, shape (unknowns, modes)
            Its part along the known elastic modes does not count.
        eigenvalues : float array, shape (modes,)
            λ of each, not above the highest of the solution. [rad²/s²]

        Returns
        -------
        float array, shape (unknowns, modes)

        Raises
        ------
        SolveError
            If the iteration does not converge.
        """
        body = self._body
        forces = right * self._free
        along = self._rigid.T @ forces
        enough = _TOLERANCE**2 * _dot(forces, body.precondition(forces))
        residual = self._dual(forces)
        found, step, answer = (np.zeros_like(residual) for _ in range(3))
        before = np.zeros(len(eigenvalues))
        for _ in range(_MOST_STEPS):
            raw = body.precondition(residual)
            pulled = residual - body.shift_rad2_s2 * body.plain(raw) - eigenvalues * body.weigh(raw)
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

    def _dual(self, forces: NDArray[np.float64]) -> NDArray[np.float64]:
        """Forces without those that act on the known modes."""
        return forces - self._weighed @ (self._known.T @ forces)

    def _primal(self, fields: NDArray[np.float64]) -> NDArray[np.float64]:
        """Fields without their part along the known modes."""
        return fields - self._known @ (self._weighed.T @ fields)


def _dot(left: NDArray[np.float64], right: NDArray[np.float64]) -> NDArray[np.float64]:
    """Scalar product of each mode."""
    return np.asarray(np.einsum("nm,nm->m", left, right), dtype=np.float64)


def _quotient(above: NDArray[np.float64], below: NDArray[np.float64]) -> NDArray[np.float64]:
    """Zero where there is nothing left to divide by."""
    return np.divide(above, below, out=np.zeros_like(above), where=below > 0)
