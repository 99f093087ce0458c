"""Factorisation of a sparse positive definite matrix.

A door to the finite-element library, whose sparse Cholesky factorisation is several times faster
than the general one of scipy; its Python side carries few types: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import ngsolve as ng
import numpy as np
import pyngcore

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

__all__ = ["Factorised", "Product", "factorise"]

Product: TypeAlias = "Callable[[NDArray[np.float64]], NDArray[np.float64]]"
"""Takes and gives one vector, shape (unknowns,), or several, shape (unknowns, k)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Factorised:
    """A matrix and its inverse, on the free unknowns; the others are zero.

    Parameters
    ----------
    solve, multiply : callable
    """

    solve: Product
    multiply: Product


def factorise(
    rows: NDArray[np.int32],
    columns: NDArray[np.int32],
    values: NDArray[np.float64],
    is_free: NDArray[np.bool_],
) -> Factorised:
    """Factorise a matrix given by the entries of its lower triangle.

    Parameters
    ----------
    rows, columns, values : arrays, shape (entries,)
        Each place at most once.
    is_free : bool array, shape (unknowns,)
        The other unknowns are zero.

    Returns
    -------
    Factorised
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

    diagonal = np.zeros(size)
    on_diagonal = rows == columns
    diagonal[rows[on_diagonal]] = values[on_diagonal]

    def solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        given_array[:] = right
        inverse.Mult(given, result)
        return np.array(result_array)

    def multiply(vector: NDArray[np.float64]) -> NDArray[np.float64]:
        given_array[:] = vector
        matrix.Mult(given, result)
        lower = np.array(result_array)
        matrix.MultTrans(1.0, given, result)
        return (lower + result_array - diagonal * vector) * is_free

    return Factorised(solve=_by_columns(solve), multiply=_by_columns(multiply))


def _by_columns(product: Product) -> Product:
    def of_all(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        if vectors.ndim == 1:
            return product(vectors)
        found = np.empty_like(vectors)
        for column in range(vectors.shape[1]):
            found[:, column] = product(vectors[:, column])
        return found

    return of_all


def _filled(kind: Any, values: NDArray[np.generic]) -> Any:  # noqa: ANN401 - untyped library
    array = kind(len(values))
    array.NumPy()[:] = values
    return array
