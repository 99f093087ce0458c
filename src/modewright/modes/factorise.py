"""Factorisation of a sparse positive definite matrix.

A door to the finite-element library, whose sparse Cholesky factorisation is several times faster
than the general one of scipy; its Python side carries few types: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

import ngsolve as ng
import numpy as np
import pyngcore

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

__all__ = ["Product", "factorise"]

Product: TypeAlias = "Callable[[NDArray[np.float64]], NDArray[np.float64]]"


def factorise(
    rows: NDArray[np.int32],
    columns: NDArray[np.int32],
    values: NDArray[np.float64],
    is_free: NDArray[np.bool_],
) -> Product:
    """Factorise a matrix given by the entries of its lower triangle.

    Parameters
    ----------
    rows, columns, values : arrays, shape (entries,)
        Each place at most once.
    is_free : bool array, shape (unknowns,)
        The other unknowns are zero.

    Returns
    -------
    callable
        Gives the solution for a right-hand side.
    """
    size = len(is_free)
    matrix = ng.la.SparseMatrixd.CreateFromCOO(
        _filled(pyngcore.Array_I_S, rows),
        _filled(pyngcore.Array_I_S, columns),
        _filled(pyngcore.Array_D_S, values),
        size,
        size,
    )
    inverse = matrix.Inverse(pyngcore.BitArray(is_free.tolist()), inverse="sparsecholesky")
    given, result = matrix.CreateColVector(), matrix.CreateColVector()
    given_array, result_array = given.FV().NumPy(), result.FV().NumPy()

    def solve_one(right: NDArray[np.float64]) -> NDArray[np.float64]:
        given_array[:] = right
        inverse.Mult(given, result)
        return np.array(result_array)

    def solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        if right.ndim == 1:
            return solve_one(right)
        found = np.empty_like(right)
        for column in range(right.shape[1]):
            found[:, column] = solve_one(right[:, column])
        return found

    return solve


def _filled(kind: Any, values: NDArray[np.generic]) -> Any:  # noqa: ANN401 - untyped library
    array = kind(len(values))
    array.NumPy()[:] = values
    return array
