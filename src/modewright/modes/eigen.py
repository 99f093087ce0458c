"""The lowest modes of K φ = ω² M φ by shift-invert Lanczos.

Ericsson & Ruhe, Math. Comp. 35 (1980) 1251: the operator (K - σ M)⁻¹ M turns the lowest modes into
the largest, well separated ones. The factorisation is the finite-element library's.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import ngsolve as ng
import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from modewright.errors import SolveError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem

__all__ = ["lowest_modes"]

_Product: TypeAlias = "Callable[[NDArray[np.float64]], NDArray[np.float64]]"

# The residual of a Lanczos eigenvalue is the square of the vector's: 1e-6 leaves 1e-12.
_TOLERANCE = 1e-6


def lowest_modes(
    system: ElasticSystem,
    added_mass: NDArray[np.float64],
    count: int,
    shift_rad2_s2: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Find the lowest modes.

    Parameters
    ----------
    system : ElasticSystem
    added_mass : float array, shape (unknowns, rank)
        Factor of the mass matrix of attached bodies. [sqrt(kg)]
    count : int
        How many; rigid-body motions do not count.
    shift_rad2_s2 : float
        The shift is minus this; > 0 for a free body, else 0. [rad²/s²]

    Returns
    -------
    omega2_rad2_s2 : float array, shape (count,)
        Rising. [rad²/s²]
    shapes : float array, shape (unknowns, count)
        Mass-normalised. [1/sqrt(kg)]

    Raises
    ------
    SolveError
        If the iteration does not converge or the body has too few unknowns.
    """
    if count >= int(system.is_free.sum()) // 3:
        raise SolveError(
            f"modes: expected fewer than {int(system.is_free.sum()) // 3} for this mesh, got "
            f"{count}.",
            hint="Ask for fewer modes or for a finer accuracy.",
        )
    weigh = _weighing(system, added_mass)
    solve = _shifted_solve(system, added_mass, shift_rad2_s2)
    if shift_rad2_s2 > 0:
        solve = _without_rigid_motion(solve, weigh, system)
    size = system.size

    def operator(function: _Product) -> LinearOperator:
        return LinearOperator((size, size), matvec=function, dtype=np.dtype(np.float64))

    start = np.where(system.is_free, 1.0 + np.arange(size) % 7, 0.0)
    try:
        omega2, shapes = eigsh(
            operator(solve),
            k=count,
            M=operator(weigh),
            sigma=-shift_rad2_s2,
            OPinv=operator(solve),
            tol=_TOLERANCE,
            v0=start,
            ncv=min(2 * count + 8, size),
        )
    except ArpackNoConvergence as error:
        raise SolveError(
            f"modes: expected {count} converged modes, got {len(error.eigenvalues)}.",
            hint="Ask for fewer modes or another accuracy.",
        ) from error
    order = np.argsort(omega2)
    return omega2[order], shapes[:, order]


def _weighing(system: ElasticSystem, added_mass: NDArray[np.float64]) -> _Product:
    """Product with M, attached masses included."""
    given, result = (system.mass.mat.CreateColVector() for _ in range(2))
    given_array, result_array = given.FV().NumPy(), result.FV().NumPy()
    free = system.is_free.astype(np.float64)
    factor = added_mass * free[:, None]

    def weigh(vector: NDArray[np.float64]) -> NDArray[np.float64]:
        given_array[:] = vector
        system.mass.mat.Mult(given, result)
        return result_array * free + factor @ (factor.T @ vector)

    return weigh


def _shifted_solve(
    system: ElasticSystem, added_mass: NDArray[np.float64], shift: float
) -> _Product:
    """Product with (K + shift M)⁻¹, attached masses included."""
    matrix = system.stiffness.mat
    if shift > 0:
        matrix = matrix.CreateMatrix()
        matrix.AsVector().data = (
            system.stiffness.mat.AsVector() + shift * system.mass.mat.AsVector()
        )
    inverse = matrix.Inverse(system.space.FreeDofs(), inverse="sparsecholesky")
    given, result = (matrix.CreateColVector() for _ in range(2))
    given_array, result_array = given.FV().NumPy(), result.FV().NumPy()

    def plain_solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        given_array[:] = right
        inverse.Mult(given, result)
        return np.array(result_array)

    if shift == 0 or added_mass.shape[1] == 0:
        return plain_solve
    # Attached masses change the shifted matrix by shift F Fᵀ (Woodbury's identity).
    spread = np.stack([plain_solve(column) for column in added_mass.T], axis=1)
    core = np.linalg.inv(np.eye(added_mass.shape[1]) / shift + added_mass.T @ spread)

    def solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        return plain_solve(right) - spread @ (core @ (spread.T @ right))

    return solve


def _without_rigid_motion(solve: _Product, weigh: _Product, system: ElasticSystem) -> _Product:
    """Keep the iteration orthogonal to the six rigid motions, which are known exactly.

    Left to the iteration, they would come out at the round-off of the stiffness, which for very
    thin sheet is not far below the lowest bending modes.
    """
    rigid = _rigid_motions(system)
    weighed = np.stack([weigh(column) for column in rigid.T], axis=1)
    to_unit = np.linalg.inv(np.linalg.cholesky(rigid.T @ weighed)).T
    rigid, weighed = rigid @ to_unit, weighed @ to_unit

    def solve_elastic(right: NDArray[np.float64]) -> NDArray[np.float64]:
        found = solve(right - weighed @ (rigid.T @ right))
        return found - rigid @ (weighed.T @ found)

    return solve_elastic


def _rigid_motions(system: ElasticSystem) -> NDArray[np.float64]:
    field = ng.GridFunction(system.space)
    columns: list[NDArray[np.float64]] = []
    for motion in (
        (1, 0, 0),
        (0, 1, 0),
        (0, 0, 1),
        (0, -ng.z, ng.y),
        (ng.z, 0, -ng.x),
        (-ng.y, ng.x, 0),
    ):
        field.Set(ng.CF(motion))
        columns.append(np.array(field.vec.FV().NumPy()))
    scaled = np.stack(columns, axis=1)
    return scaled / np.abs(scaled).max(axis=0)
