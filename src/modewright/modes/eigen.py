"""The lowest modes of K φ = ω² M φ by shift-invert Lanczos.

Ericsson & Ruhe, Math. Comp. 35 (1980) 1251: the operator (K - σ M)⁻¹ M turns the lowest modes into
the largest, well separated ones. The factorisation is the finite-element library's.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from modewright.errors import SolveError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem

__all__ = ["lowest_modes"]

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
        How many, rigid-body motions included.
    shift_rad2_s2 : float
        The shift is minus this; > 0 for a body that can move freely, else 0. [rad²/s²]

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
    solve, weigh = _operators(system, added_mass, shift_rad2_s2)
    size = system.size

    def operator(function: object) -> LinearOperator:
        return LinearOperator((size, size), matvec=function, dtype=np.float64)

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


def _operators(
    system: ElasticSystem, added_mass: NDArray[np.float64], shift: float
) -> tuple[object, object]:
    """Products with (K + shift M)⁻¹ and with M, attached masses included in both."""
    matrix = system.stiffness.mat
    if shift > 0:
        matrix = matrix.CreateMatrix()
        matrix.AsVector().data = (
            system.stiffness.mat.AsVector() + shift * system.mass.mat.AsVector()
        )
    inverse = matrix.Inverse(system.space.FreeDofs(), inverse="sparsecholesky")
    given, result = matrix.CreateColVector(), matrix.CreateColVector()
    given_array, result_array = given.FV().NumPy(), result.FV().NumPy()
    free = system.is_free.astype(float)
    factor = added_mass * free[:, None]

    def plain_solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        given_array[:] = right
        inverse.Mult(given, result)
        return result_array.copy()

    def weigh(vector: NDArray[np.float64]) -> NDArray[np.float64]:
        given_array[:] = vector
        system.mass.mat.Mult(given, result)
        return result_array * free + factor @ (factor.T @ vector)

    if shift == 0 or factor.shape[1] == 0:
        return plain_solve, weigh
    # Attached masses change the shifted matrix by shift F Fᵀ (Woodbury's identity).
    spread = np.stack([plain_solve(column) for column in factor.T], axis=1)
    core = np.linalg.inv(np.eye(factor.shape[1]) / shift + factor.T @ spread)

    def solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        plain = plain_solve(right)
        return plain - spread @ (core @ (spread.T @ right))

    return solve, weigh
