"""Stiffness and mass of bent sheet.

The functions are those of flat sheet on the flat blank; each of their nodes has a place in the bent
body, and the map from blank to body is made of the same functions (isoparametric solid elements:
Zienkiewicz & Taylor, The Finite Element Method, 4th ed., vol. 1, ch. 8; from memory). Displacements
are along the axes of space. Integrals are taken point by point, since nothing separates in a bend.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp

from modewright.modes.elasticity import ElasticSystem, Slab, Term
from modewright.modes.fold_map import FoldedPlaces, folded_places
from modewright.modes.plane_space import (
    element_products,
    lower_pattern,
    plane_space,
    triangle_factors,
)
from modewright.modes.triangle import basis_values, triangle_rule

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.column import Column
    from modewright.modes.fold_map import Fold
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.plane_space import PlaneSpace

__all__ = [
    "CHUNK",
    "SolidPoints",
    "assemble_folded",
    "blocks_of_gram",
    "element_gram",
    "element_masses",
    "mass_blocks",
    "places_of_nodes",
    "solid_points",
    "summing",
]

CHUNK = 32
"""Triangles that are integrated together."""
_MORE_POINTS = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolidPoints:
    """Points of integration in some triangles, over plane and column.

    Parameters
    ----------
    volume : float array, shape (triangles, points, levels)
        Share of the volume of the bent body. [m³]
    slopes : float array, shape (triangles, points, levels, 3, nodes, functions)
        Slopes of every function along the axes of space. [1/m]
    """

    volume: NDArray[np.float64]
    slopes: NDArray[np.float64]


def assemble_folded(
    plane: PlaneMesh, fold: Fold, material: IsotropicSolid, column: Column, order: int
) -> ElasticSystem:
    """Assemble stiffness and mass of bent sheet of one thickness, without its hold.

    Parameters
    ----------
    plane : PlaneMesh
        Of the flat blank, along the edges of the bends.
    fold : Fold
    material : IsotropicSolid
    column : Column
        Not mirrored.
    order : int
        Polynomial order in the plane.

    Returns
    -------
    ElasticSystem
    """
    space = plane_space(plane, order)
    pattern = lower_pattern(space)
    places = places_of_nodes(space, plane.region, fold, column)
    everywhere = np.ones(len(space.corners_m), dtype=bool)
    functions = column.function_count
    side = 3 * functions
    stiffness = np.zeros((len(pattern.rows), side * side))
    masses = np.zeros((2, len(pattern.rows)))
    for start in range(0, len(space.corners_m), CHUNK):
        some = np.arange(start, min(start + CHUNK, len(space.corners_m)))
        points = solid_points(space, column, places, some)
        gram = element_gram(points, points.slopes, points.volume)
        blocks = blocks_of_gram(gram, material.first_lame_pa, material.shear_modulus_pa)
        to_pairs = summing(pattern.place[some], len(pattern.rows))
        stiffness += to_pairs @ blocks.reshape(-1, side * side)
        masses += (to_pairs @ element_masses(space, column, points.volume).reshape(-1, 2)).T
    return ElasticSystem(
        space=space,
        column=column,
        pattern=pattern,
        slabs=(
            Slab(
                layers=range(len(column.levels_m) - 1),
                triangles=everywhere,
                products=pattern.sums(element_products(space), everywhere),
            ),
        ),
        stiffness=(
            Term(
                products=stiffness,
                blocks=np.eye(side * side).reshape(-1, 3, functions, 3, functions),
            ),
        ),
        mass=tuple(
            Term(products=products[:, None], blocks=block)
            for products, block in zip(
                masses, mass_blocks(column, material.density_kg_per_m3), strict=True
            )
        ),
        is_free=np.ones((space.size, 3, functions), dtype=bool),
        folded=places,
    )


def places_of_nodes(
    space: PlaneSpace, region: NDArray[np.int64], fold: Fold, column: Column
) -> FoldedPlaces:
    """Where the nodes of a space and a column lie in the bent body.

    Parameters
    ----------
    space : PlaneSpace
    region : int array, shape (triangles,)
    fold : Fold
    column : Column
    """
    levels = column.node_heights_m
    nodes_m = np.zeros((space.size, len(levels), 3))
    frames = np.zeros((*space.element_nodes.shape, 3, 3))
    for number, part in enumerate(fold.parts):
        inside = np.nonzero(region == number)[0]
        nodes = space.element_nodes[inside]
        flat = np.empty((*nodes.shape, len(levels), 3))
        flat[..., :2] = space.nodes_m[nodes][:, :, None]
        flat[..., 2] = levels
        bent, turned = folded_places(fold, part, flat)
        nodes_m[nodes] = bent
        frames[inside] = turned[:, :, 0]
    return FoldedPlaces(nodes_m=nodes_m, frames=frames)


def solid_points(
    space: PlaneSpace, column: Column, places: FoldedPlaces, triangles: NDArray[np.int64]
) -> SolidPoints:
    """Points of integration and the slopes of all functions there.

    Parameters
    ----------
    space : PlaneSpace
    column : Column
    places : FoldedPlaces
    triangles : int array
        Numbers of some triangles.

    Returns
    -------
    SolidPoints
    """
    spots, shares = triangle_rule(space.order + 1 + _MORE_POINTS)
    values, local = basis_values(space.order, spots)
    area, to_local = triangle_factors(space.corners_m[triangles])
    turned = np.einsum("pna,tad->tpdn", local, to_local)
    weights, through, through_slopes, _ = column.samples(range(len(column.levels_m) - 1))
    nodes_m = places.nodes_m[space.element_nodes[triangles]]
    # Slopes of the map by the blank's x and y, then by its height.
    within = np.einsum("tpdn,tnfc->tpdfc", turned, nodes_m, optimize=True)
    map_slopes = np.empty((len(triangles), len(spots), len(weights), 3, 3))
    map_slopes[..., :2, :] = np.einsum("tpdfc,zf->tpzdc", within, through, optimize=True)
    map_slopes[..., 2, :] = np.einsum(
        "pn,tnfc,zf->tpzc", values, nodes_m, through_slopes, optimize=True
    )
    back = np.linalg.inv(map_slopes)
    slopes = np.einsum(
        "tpzcd,tpdn,zf->tpzcnf", back[..., :2], turned, through, optimize=True
    ) + np.einsum("tpzc,pn,zf->tpzcnf", back[..., 2], values, through_slopes, optimize=True)
    volume = np.abs(np.linalg.det(map_slopes)) * weights
    volume = volume * (area[:, None] * shares)[..., None]
    return SolidPoints(volume=volume, slopes=slopes)


def element_gram(
    points: SolidPoints, slopes: NDArray[np.float64], volume: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Integrals of products of slopes with slopes that may be others.

    Parameters
    ----------
    points : SolidPoints
    slopes : float array, shape as of those of the points
    volume : float array, shape (triangles, points, levels)

    Returns
    -------
    float array, shape (triangles, nodes, nodes, 3, functions, 3, functions)
    """
    count, _, _, _, nodes, functions = points.slopes.shape
    shape = (count, volume[0].size, 3 * nodes * functions)
    weighted = slopes.reshape(shape) * volume.reshape(count, -1, 1)
    gram = points.slopes.reshape(shape).swapaxes(1, 2) @ weighted
    gram = gram.reshape(count, 3, nodes, functions, 3, nodes, functions)
    return gram.transpose(0, 2, 5, 1, 3, 4, 6)  # t i j c a d b


def blocks_of_gram(
    gram: NDArray[np.float64], lame_pa: float, shear_pa: float
) -> NDArray[np.float64]:
    """Stiffness of each triangle out of integrals of products of slopes, of the same shape."""
    blocks = lame_pa * gram
    blocks += shear_pa * gram.transpose(0, 1, 2, 5, 4, 3, 6)
    trace = shear_pa * np.einsum("tijcacb->tijab", gram)
    for component in range(3):
        blocks[:, :, :, component, :, component] += trace
    return blocks


def element_masses(
    space: PlaneSpace, column: Column, volume: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Plane products with mean and slope through the column of the volume, (t, i, j, 2).

    In a bend the volume grows evenly from the inner to the outer face.
    """
    spots, _ = triangle_rule(space.order + 1 + _MORE_POINTS)
    values, _ = basis_values(space.order, spots)
    height, lever, weights = _levers(column)
    growth = volume / weights
    means = growth @ (weights / height)
    tilts = growth @ (weights * lever) / (weights @ lever**2)
    both = np.stack([means, tilts], axis=-1)
    return np.einsum("tpk,pi,pj->tijk", both, values, values, optimize=True)


def _levers(column: Column) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    weights, _, _, heights = column.samples(range(len(column.levels_m) - 1))
    height = float(column.levels_m[-1] - column.levels_m[0])
    return height, (heights - column.levels_m[0]) / height - 0.5, weights


def mass_blocks(column: Column, density_kg_per_m3: float) -> list[NDArray[np.float64]]:
    """Blocks (1, 3, functions, 3, functions) of mean and slope of the volume."""
    weights, values, _, _ = column.samples(range(len(column.levels_m) - 1))
    _, lever, _ = _levers(column)
    found: list[NDArray[np.float64]] = []
    for factor in (np.ones_like(lever), lever):
        gram = density_kg_per_m3 * (values.T * (weights * factor)) @ values
        block = np.zeros((1, 3, len(gram), 3, len(gram)))
        for component in range(3):
            block[0, component, :, component] = gram
        found.append(block)
    return found


def summing(place: NDArray[np.int64], pairs: int) -> sp.csr_matrix:
    """Matrix that adds the pairs of nodes of triangles to those of the pattern."""
    flat = place.ravel()
    kept = np.nonzero(flat < pairs)[0]
    ones = np.ones(len(kept))
    return sp.csr_matrix((ones, (flat[kept], kept)), shape=(pairs, len(flat)))
