"""The reference triangle: nodes, polynomials through them, and a rule of integration."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.polynomial.legendre import leggauss

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["basis_values", "integer_lattice", "lattice", "triangle_rule"]


@cache
def _pairs(order: int) -> tuple[tuple[int, int], ...]:
    return tuple((i, j) for i in range(order + 1) for j in range(order + 1 - i))


def integer_lattice(order: int) -> NDArray[np.int64]:
    """Barycentric coordinates of the equispaced nodes of a triangle, times the order."""
    return np.array([[i, j, order - i - j] for i, j in _pairs(order)], dtype=np.int64)


def lattice(order: int) -> NDArray[np.float64]:
    """Barycentric coordinates of the equispaced nodes of a triangle.

    Returns
    -------
    float array, shape ((order + 1)(order + 2)/2, 3)
    """
    return integer_lattice(order) / order


def _monomials(places: NDArray[np.float64], order: int) -> NDArray[np.float64]:
    x, y = places[..., 0], places[..., 1]
    return np.stack([x**i * y**j for i, j in _pairs(order)], axis=-1)


def _monomial_slopes(places: NDArray[np.float64], order: int) -> NDArray[np.float64]:
    x, y = places[..., 0], places[..., 1]
    along_x = [i * x ** max(i - 1, 0) * y**j for i, j in _pairs(order)]
    along_y = [j * x**i * y ** max(j - 1, 0) for i, j in _pairs(order)]
    return np.stack([np.stack(along_x, axis=-1), np.stack(along_y, axis=-1)], axis=-1)


@cache
def _monomials_to_nodes(order: int) -> NDArray[np.float64]:
    return np.asarray(np.linalg.inv(_monomials(lattice(order), order)), dtype=np.float64)


def basis_values(
    order: int, places: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Polynomials that are 1 at one node and 0 at the others.

    Parameters
    ----------
    order : int
    places : float array, shape (..., 2 or 3)
        Barycentric coordinates.

    Returns
    -------
    values : float array, shape (..., nodes)
    slopes : float array, shape (..., nodes, 2)
        Derivatives by the first two barycentric coordinates.
    """
    to_nodes = _monomials_to_nodes(order)
    slopes = np.einsum("...mx,mn->...nx", _monomial_slopes(places, order), to_nodes)
    return _monomials(places, order) @ to_nodes, slopes


def triangle_rule(points: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rule exact for polynomials of degree 2 `points` - 2 over a triangle.

    A Gauss rule of a square, one side of which is shrunk to a corner: Stroud, Approximate
    Calculation of Multiple Integrals, 1971, sec. 2.4 (from memory).

    Returns
    -------
    places : float array, shape (points², 3)
        Barycentric coordinates.
    weights : float array, shape (points²,)
        They add up to 1.
    """
    local, share = leggauss(points)
    s, t = (grid.ravel() for grid in np.meshgrid((1 + local) / 2, (1 + local) / 2, indexing="ij"))
    weights = np.outer(share * (1 - (1 + local) / 2), share).ravel() / 2
    places = np.stack([s, t * (1 - s), 1 - s - t * (1 - s)], axis=1)
    return places, weights
