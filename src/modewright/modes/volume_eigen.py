"""The lowest modes of a solid's matrices, equals among them included.

One of the doors to the finite-element library, whose Python side carries few types: hence the
switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from modewright.errors import SolveError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["lowest_of_solid", "product_with"]

_TOLERANCE = 1e-7
# So many at a time are looked for among what is left.
_MISSED = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pencil:
    """Matrices of a solid, the inverse of the first, and which unknowns are not held."""

    shifted: Any
    mass: Any
    inverse: Any
    is_free: NDArray[np.bool_]


def lowest_of_solid(
    space: Any,  # noqa: ANN401 - untyped library
    shifted: Any,  # noqa: ANN401
    mass: Any,  # noqa: ANN401
    count: int,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest eigenvalues of a shifted pencil and their vectors.

    Parameters
    ----------
    space : VectorH1
    shifted, mass : matrices over it
    count : int

    Returns
    -------
    float array, shape (count,)
        Rising.
    float array, shape (unknowns, count)
        Of unit mass.

    Raises
    ------
    SolveError
        If they are too many or do not converge.

    Notes
    -----
    A search that grows from one vector sees one of several equals only, until round-off brings in
    the others. So it is repeated among what is orthogonal to all that was found, until nothing
    lower turns up: a round rod has most modes twice.
    """
    free_unknowns = space.FreeDofs()
    is_free = np.array(list(free_unknowns))
    if count >= is_free.sum() // 4:
        raise SolveError(
            f"modes: expected fewer than {int(is_free.sum()) // 4} for this mesh, got {count}.",
            hint="Ask for fewer modes or for a finer accuracy.",
        )
    inverse = shifted.Inverse(free_unknowns, inverse="sparsecholesky")
    pencil = _Pencil(shifted=shifted, mass=mass, inverse=inverse, is_free=is_free)
    values, vectors = _searched(pencil, count, np.zeros((len(is_free), 0)))
    while True:
        more, others = _searched(pencil, _MISSED, vectors)
        is_lower = more < values[-1]
        if not np.any(is_lower):
            return values, vectors
        values = np.concatenate([values, more[is_lower]])
        vectors = np.concatenate([vectors, others[:, is_lower]], axis=1)
        order = np.argsort(values)[:count]
        values, vectors = values[order], vectors[:, order]


def _searched(
    pencil: _Pencil, count: int, known: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest among what is orthogonal to known vectors of unit mass."""
    weighed = np.stack(
        [product_with(pencil.mass, vector) for vector in known.T] or [np.zeros(0)], axis=1
    ).reshape(known.shape)

    def operator(matrix: Any, *, is_inverse: bool = False) -> LinearOperator:  # noqa: ANN401
        def product(vector: NDArray[np.float64]) -> NDArray[np.float64]:
            found = product_with(matrix, vector)
            return found - known @ (weighed.T @ found) if is_inverse else found

        return LinearOperator(
            (len(pencil.is_free),) * 2, matvec=product, dtype=np.dtype(np.float64)
        )

    start = np.random.default_rng(known.shape[1]).standard_normal(len(known)) * pencil.is_free
    start -= known @ (weighed.T @ start)
    try:
        values, vectors = eigsh(
            operator(pencil.shifted), k=count, M=operator(pencil.mass), sigma=0.0,
            OPinv=operator(pencil.inverse, is_inverse=True), tol=_TOLERANCE, v0=start,
            ncv=2 * count + 8,
        )  # fmt: skip
    except ArpackNoConvergence as error:
        raise SolveError(
            f"modes: expected {count} converged modes, got {len(error.eigenvalues)}.",
            hint="Ask for fewer modes or another accuracy.",
        ) from error
    order = np.argsort(values)
    return values[order], vectors[:, order]


def product_with(matrix: Any, vector: NDArray[np.float64]) -> NDArray[np.float64]:  # noqa: ANN401
    """Product of a matrix of the library with a plain vector."""
    given, result = matrix.CreateColVector(), matrix.CreateColVector()
    given.FV().NumPy()[:] = vector
    matrix.Mult(given, result)
    return np.array(result.FV().NumPy())
