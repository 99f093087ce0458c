"""Polynomials on the triangles of the plane, and integrals of their products.

Nodal elements of any order on straight triangles (e.g. Hughes, The Finite Element Method, 1987,
ch. 3, app. 3.I): every integral is a fixed matrix of the reference triangle times a factor of
the triangle at hand.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.triangle import basis_values, integer_lattice, triangle_rule

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.plane_mesh import PlaneMesh

__all__ = [
    "PRODUCTS",
    "Pattern",
    "PlaneSpace",
    "ReferenceProducts",
    "element_products",
    "lower_pattern",
    "plane_space",
    "products_of_factors",
    "reference_products",
    "triangle_factors",
]

PRODUCTS = ("1", "xx", "yy", "xy", "yx", "x1", "1x", "y1", "1y")
"""Integrals over the plane of N_i N_j, N_i,x N_j,x, N_i,y N_j,y, N_i,x N_j,y, N_i,y N_j,x,
N_i,x N_j, N_i N_j,x, N_i,y N_j and N_i N_j,y."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaneSpace:
    """Continuous functions of the plane, a polynomial on each triangle.

    Parameters
    ----------
    order : int
        >= 1.
    corners_m : float array, shape (triangles, 3, 2)
        [m]
    nodes_m : float array, shape (nodes, 2)
        Places of the nodes; the corners of the mesh come first. [m]
    element_nodes : int array, shape (triangles, nodes of one)
        In the order of `modewright.modes.triangle.lattice`.
    """

    order: int
    corners_m: NDArray[np.float64]
    nodes_m: NDArray[np.float64]
    element_nodes: NDArray[np.int64]

    @property
    def size(self) -> int:
        """Number of nodes."""
        return len(self.nodes_m)

    def side_nodes(self, side_points: NDArray[np.int64]) -> NDArray[np.int64]:
        """Nodes on sides of triangles, shape (sides, order + 1), from start to end.

        Parameters
        ----------
        side_points : int array, shape (sides, 2)
            Corners at which they start and end.
        """
        weights = integer_lattice(self.order)
        wanted = {(int(a), int(b)): i for i, (a, b) in enumerate(side_points)}
        found = np.zeros((len(side_points), self.order + 1), dtype=np.int64)
        at_corner = [int(np.argmax(weights[:, c] == self.order)) for c in range(3)]
        corners = self.element_nodes[:, at_corner]
        for first, second in ((0, 1), (1, 2), (2, 0), (1, 0), (2, 1), (0, 2)):
            on_side = weights[:, first] + weights[:, second] == self.order
            order = np.nonzero(on_side)[0][np.argsort(weights[on_side, second])]
            for triangle, pair in enumerate(corners[:, [first, second]].tolist()):
                place = wanted.get((pair[0], pair[1]))
                if place is not None:
                    found[place] = self.element_nodes[triangle, order]
        return found


def plane_space(plane: PlaneMesh, order: int) -> PlaneSpace:
    """Number the nodes of a mesh.

    Parameters
    ----------
    plane : PlaneMesh
    order : int

    Returns
    -------
    PlaneSpace
    """
    weights = integer_lattice(order)
    triangles = plane.triangles
    numbers = np.zeros((len(triangles), len(weights)), dtype=np.int64)
    next_number = len(plane.points_m)
    sides = np.sort(triangles[:, [[0, 1], [1, 2], [0, 2]]], axis=-1).reshape(-1, 2)
    _, side = np.unique(sides, axis=0, return_inverse=True)
    side = side.reshape(-1, 3)
    inner_start = next_number + (int(side.max()) + 1) * (order - 1)
    inner = 0
    for local, weight in enumerate(weights):
        corners = np.nonzero(weight)[0]
        if len(corners) == 1:
            numbers[:, local] = triangles[:, corners[0]]
        elif len(corners) == 2:
            first, second = triangles[:, corners[0]], triangles[:, corners[1]]
            near, far = int(weight[corners[0]]), int(weight[corners[1]])
            along = np.where(first < second, far, near)
            which = side[:, {1: 0, 3: 1, 2: 2}[int(corners.sum())]]
            numbers[:, local] = next_number + which * (order - 1) + along - 1
        else:
            numbers[:, local] = inner_start + inner * len(triangles) + np.arange(len(triangles))
            inner += 1
    nodes_m = np.zeros((inner_start + inner * len(triangles), 2))
    corners_m = plane.points_m[triangles]
    nodes_m[numbers] = np.einsum("nc,tcd->tnd", weights / order, corners_m)
    return PlaneSpace(order=order, corners_m=corners_m, nodes_m=nodes_m, element_nodes=numbers)


def element_products(space: PlaneSpace) -> NDArray[np.float64]:
    """Integrals over each triangle, shape (triangles, 9, nodes of one, nodes of one).

    In the order of `PRODUCTS`.
    """
    area, to_local = triangle_factors(space.corners_m)
    scaled = area[:, None, None] * to_local
    pairs = np.einsum("tax,tby->txyab", scaled, to_local)
    return products_of_factors(space.order, area, scaled, pairs)


def products_of_factors(
    order: int,
    area: NDArray[np.float64],
    scaled: NDArray[np.float64],
    pairs: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Integrals over triangles, a linear function of these factors of each.

    Parameters
    ----------
    order : int
    area : float array, shape (triangles,)
        Or any change of it, as for the others. [m²]
    scaled : float array, shape (triangles, 2 coordinates, 2 directions)
        Area times the slopes of the coordinates. [m]
    pairs : float array, shape (triangles, 2 directions, 2 directions, 2 coordinates, 2 coordinates)
        Area times the products of two slopes.

    Returns
    -------
    float array, shape (triangles, 9, nodes of one, nodes of one)
        In the order of `PRODUCTS`.
    """
    reference = reference_products(order)
    n = len(reference.mass)
    products = np.empty((len(area), len(PRODUCTS), n, n))
    products[:, 0] = area[:, None, None] * reference.mass
    second = pairs.reshape(len(area), 4, 4) @ reference.stiff.reshape(4, n * n)
    second = second.reshape(len(area), 2, 2, n, n)
    products[:, 1], products[:, 2] = second[:, 0, 0], second[:, 1, 1]
    products[:, 3], products[:, 4] = second[:, 0, 1], second[:, 1, 0]
    first = np.einsum("tax,aij->txij", scaled, reference.mixed)
    products[:, 5], products[:, 7] = first[:, 0], first[:, 1]
    products[:, 6], products[:, 8] = (products[:, k].swapaxes(1, 2) for k in (5, 7))
    return products


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReferenceProducts:
    """Means over the reference triangle of products of its polynomials and their slopes.

    Parameters
    ----------
    mass : float array, shape (nodes, nodes)
        N_i N_j.
    stiff : float array, shape (2, 2, nodes, nodes)
        Slopes of N_i by one and of N_j by the other barycentric coordinate.
    mixed : float array, shape (2, nodes, nodes)
        Slopes of N_i times N_j.
    """

    mass: NDArray[np.float64]
    stiff: NDArray[np.float64]
    mixed: NDArray[np.float64]


def reference_products(order: int) -> ReferenceProducts:
    """Products of the polynomials of an order."""
    places, weights = triangle_rule(order + 1)
    values, slopes = basis_values(order, places)
    return ReferenceProducts(
        mass=np.einsum("p,pi,pj->ij", weights, values, values),
        stiff=np.einsum("p,pia,pjb->abij", weights, slopes, slopes),
        mixed=np.einsum("p,pia,pj->aij", weights, slopes, values),
    )


def triangle_factors(
    corners_m: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Area [m²] of each triangle and slopes of its first two barycentric coordinates [1/m].

    Returns
    -------
    area_m2 : float array, shape (triangles,)
    to_local : float array, shape (triangles, 2 coordinates, 2 directions)
    """
    jacobian = np.stack(
        [corners_m[:, 0] - corners_m[:, 2], corners_m[:, 1] - corners_m[:, 2]], axis=2
    )
    return np.abs(np.linalg.det(jacobian)) / 2, np.asarray(
        np.linalg.inv(jacobian), dtype=np.float64
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pattern:
    """Pairs of nodes that share a triangle, the lower half of each symmetric pair.

    Parameters
    ----------
    rows, columns : int arrays, shape (pairs,)
        rows >= columns.
    place : int array, shape (triangles, nodes of one, nodes of one)
        Number of each pair; `len(rows)` for the upper half.
    """

    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    place: NDArray[np.int64]

    def sums(
        self, products: NDArray[np.float64], triangles: NDArray[np.bool_]
    ) -> NDArray[np.float64]:
        """Add the products of some triangles, shape (pairs, kinds of product)."""
        place = self.place[triangles].ravel()
        count = len(self.rows)
        kinds = products.shape[1]
        total = np.empty((count, kinds))
        for kind in range(kinds):
            values = products[triangles, kind].ravel()
            total[:, kind] = np.bincount(place, values, minlength=count + 1)[:count]
        return total

    def pairs(self, first: NDArray[np.int64], second: NDArray[np.int64]) -> NDArray[np.int64]:
        """Numbers of pairs of nodes that share a triangle; `len(rows)` for the upper half."""
        size = int(self.rows.max()) + 1
        keys = self.rows * size + self.columns
        lower = first >= second
        found = np.searchsorted(keys, np.where(lower, first * size + second, 0))
        return np.where(lower, found, len(self.rows))


def lower_pattern(space: PlaneSpace) -> Pattern:
    """Pairs of nodes of a space."""
    first, second = space.element_nodes[:, :, None], space.element_nodes[:, None, :]
    lower = first >= second
    keys, inverse = np.unique((first * space.size + second)[lower], return_inverse=True)
    place = np.full(lower.shape, len(keys), dtype=np.int64)
    place[lower] = inverse
    return Pattern(rows=keys // space.size, columns=keys % space.size, place=place)
