"""Where the body is held: rigidly, by taking unknowns away, or by springs per area."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.polynomial.legendre import leggauss

from modewright.modes.elasticity import Term
from modewright.modes.plane_space import element_products

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Hold
    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.regions import PlaneRegions

__all__ = ["hold_body"]


def hold_body(
    system: ElasticSystem, plane: PlaneMesh, regions: PlaneRegions, hold: Hold | None
) -> ElasticSystem:
    """Hold the side faces and the two faces of the areas that a hold names.

    Parameters
    ----------
    system : ElasticSystem
        The free body.
    plane, regions : PlaneMesh, PlaneRegions
        Of the same sheet.
    hold : Hold or None

    Returns
    -------
    ElasticSystem
    """
    if hold is None:
        return system
    sides = system.space.side_nodes(plane.held_sides)
    held_region = np.array([region.is_held for region in regions.regions])[plane.region]
    if hold.stiffness_n_per_m3 is None:
        return _rigid(system, sides, held_region)
    stiffness = (hold.stiffness_n_per_m3, hold.stiffness_n_per_m3 * hold.shear_ratio)
    springs = _face_springs(system, held_region, *stiffness)
    springs += _side_springs(system, plane, sides, *stiffness)
    return replace(system, stiffness=(*system.stiffness, *springs))


def _rigid(
    system: ElasticSystem, sides: NDArray[np.int64], held_region: NDArray[np.bool_]
) -> ElasticSystem:
    is_free = system.is_free.copy()
    is_free[sides.ravel()] = False
    for slab in system.slabs:
        nodes = np.unique(system.space.element_nodes[slab.triangles & held_region])
        for level in (slab.layers.start, slab.layers.stop):
            moves = system.column.at_level(level) != 0
            is_free[np.ix_(nodes, np.arange(3), np.nonzero(moves)[0])] = False
    return replace(system, is_free=is_free)


def _face_springs(
    system: ElasticSystem, held_region: NDArray[np.bool_], normal: float, shear: float
) -> list[Term]:
    """Springs on the upper and lower face of the held areas."""
    terms: list[Term] = []
    count = system.column.function_count
    products = element_products(system.space)[:, :1]
    for slab in system.slabs:
        inside = slab.triangles & held_region
        if not np.any(inside):
            continue
        faces = [system.column.at_level(s) for s in (slab.layers.start, slab.layers.stop)]
        both = sum(np.outer(face, face) for face in faces)
        block = np.zeros((1, 3, count, 3, count))
        block[0, 0, :, 0] = block[0, 1, :, 1] = shear * both
        block[0, 2, :, 2] = normal * both
        terms.append(Term(products=system.pattern.sums(products, inside), blocks=block))
    return terms


def _side_springs(
    system: ElasticSystem,
    plane: PlaneMesh,
    sides: NDArray[np.int64],
    normal: float,
    shear: float,
) -> list[Term]:
    """Springs on the held side faces: normal to each, and within it."""
    terms: list[Term] = []
    run = np.diff(plane.points_m[plane.held_sides], axis=1)[:, 0]
    length = np.linalg.norm(run, axis=1)
    outward = np.stack([run[:, 1], -run[:, 0]], axis=1) / length[:, None]
    line = _line_mass(system.space.order)
    for slab in system.slabs:
        mine = slab.triangles[plane.held_triangles]
        if not np.any(mine):
            continue
        first, second = sides[mine][:, :, None], sides[mine][:, None, :]
        place = system.pattern.pairs(*np.broadcast_arrays(first, second)).ravel()
        x, y = outward[mine].T
        count = len(system.pattern.rows)
        shares = length[mine] * np.stack([np.ones_like(x), x * x, x * y, y * y])
        weights = np.multiply.outer(shares, line).reshape(4, -1)
        sums = [np.bincount(place, w, minlength=count + 1)[:count] for w in weights]
        products = np.stack(sums, axis=1).astype(np.float64)
        through = system.column.products(slab.layers).values
        blocks = _side_blocks(through, normal, shear)
        terms.append(Term(products=products, blocks=blocks))
    return terms


def _side_blocks(through: NDArray[np.float64], normal: float, shear: float) -> NDArray[np.float64]:
    """Blocks of 1, n_x², n_x n_y and n_y² in normal n nᵀ + shear (1 - n nᵀ)."""
    blocks = np.zeros((4, 3, len(through), 3, len(through)))
    for component in range(3):
        blocks[0, component, :, component] = shear * through
    excess = (normal - shear) * through
    blocks[1, 0, :, 0] = blocks[3, 1, :, 1] = excess
    blocks[2, 0, :, 1] = blocks[2, 1, :, 0] = excess
    return blocks


def _line_mass(order: int) -> NDArray[np.float64]:
    """Integrals over a side of unit length of products of its nodal polynomials."""
    local, share = leggauss(order + 1)
    to_nodes = np.linalg.inv(np.vander(np.arange(order + 1) / order, increasing=True))
    values = np.vander((1 + local) / 2, order + 1, increasing=True) @ to_nodes
    return (values.T * share / 2) @ values
