"""How the matrices of bent sheet change with a parameter.

When a bend changes, whole panels turn. Were displacements kept along the axes of space, the change
of a mode's energy would be a small difference of large terms; so they turn with the sheet, and a
panel that is carried along does not change its matrices at all. With V the motion of the nodes, R
the turning of the sheet at each and W = R' its rate, slopes and volume follow

    (∂u)' = -∂u ∂V,   (dx)' = div V dx,   K' + K W + Wᵀ K,   M' + M W + Wᵀ M

so that nothing is divided by a step but the places of the nodes, which are smooth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.attached_mass import mass_factor
from modewright.modes.column import Column
from modewright.modes.fold_map import fold_of_regions
from modewright.modes.folded import (
    CHUNK,
    blocks_of_gram,
    element_gram,
    element_masses,
    mass_blocks,
    places_of_nodes,
    solid_points,
    summing,
)
from modewright.modes.holds import hold_body
from modewright.modes.mesh_motion import mesh_rates
from modewright.modes.plane_space import plane_space
from modewright.modes.varying_rate import MatrixRate, blocks_of_terms, matrix_of_blocks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.modes.body_change import BodyChange
    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.fold_map import FoldedPlaces
    from modewright.modes.solution import Solution

__all__ = ["folded_rates"]


def folded_rates(solution: Solution, changes: Sequence[BodyChange]) -> tuple[MatrixRate, ...]:
    """Find what every parameter changes, for displacements that turn with the sheet.

    Parameters
    ----------
    solution : Solution
        Of a bent blank.
    changes : sequence of BodyChange
        Of its blank and material.

    Returns
    -------
    tuple of MatrixRate
        Derivatives of shapes that follow from them are those along the axes of the sheet.
    """
    places = solution.system.folded
    if places is None:
        raise ValueError("solution: expected one of bent sheet")
    if not changes:
        return ()
    moved = mesh_rates(solution, changes)
    return tuple(
        _rate(solution, places, change, moved.points[..., k], moved.levels[:, k])
        for k, change in enumerate(changes)
    )


def _rate(
    solution: Solution,
    places: FoldedPlaces,
    change: BodyChange,
    points: NDArray[np.float64],
    levels: NDArray[np.float64],
) -> MatrixRate:
    system, step = solution.system, change.step
    below = _moved(solution, change.lower, -step * points, -step * levels)
    above = _moved(solution, change.upper, step * points, step * levels)
    motion = (above.places.nodes_m - below.places.nodes_m) / (2 * step)
    turning = _turning(system, places, (above.places.frames - below.places.frames) / (2 * step))
    stiffness, mass = _metal_rates(solution, places, change, motion)
    springs = (above.springs - below.springs) / (2 * step)
    size = int(np.prod(solution.added.shape[:3]))
    added = np.einsum("nce,nefk->ncfk", turning, solution.added)
    lumped = (above.added - below.added) / (2 * step) - added
    stiffness += springs + _turned(system, blocks_of_terms(system, system.stiffness), turning)
    mass += _turned(system, blocks_of_terms(system, system.mass), turning)
    return MatrixRate(
        stiffness=matrix_of_blocks(system, stiffness),
        mass=matrix_of_blocks(system, mass),
        added=solution.added.reshape(size, -1),
        added_rate=lumped.reshape(size, -1),
        points=points,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Moved:
    """Where the nodes of the moved body lie, blocks of the springs of its hold, added mass."""

    places: FoldedPlaces
    springs: NDArray[np.float64]
    added: NDArray[np.float64]


def _moved(
    solution: Solution, blank: Blank, points: NDArray[np.float64], levels: NDArray[np.float64]
) -> _Moved:
    body, system = solution.body, solution.system
    plane = replace(body.plane, points_m=body.plane.points_m + points)
    column = Column(
        levels_m=system.column.levels_m + levels, order=system.column.order, is_mirrored=False
    )
    space = plane_space(plane, system.space.order)
    fold = fold_of_regions(blank, body.regions)
    places = places_of_nodes(space, plane.region, fold, column)
    metal = len(system.slabs)
    free = replace(
        system, space=space, column=column, stiffness=system.stiffness[:metal], folded=places
    )
    held = hold_body(free, plane, body.regions, blank.hold)
    return _Moved(
        places=places,
        springs=blocks_of_terms(held, held.stiffness[metal:]),
        added=mass_factor(free, plane, body.regions, blank.masses),
    )


def _turning(
    system: ElasticSystem, places: FoldedPlaces, frame_rates: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Skew matrices by which the sheet turns at every node, shape (nodes, 3, 3)."""
    turning = np.zeros((system.space.size, 3, 3))
    turning[system.space.element_nodes] = frame_rates @ places.frames.swapaxes(-1, -2)
    return (turning - turning.swapaxes(-1, -2)) / 2


def _turned(
    system: ElasticSystem, blocks: NDArray[np.float64], turning: NDArray[np.float64]
) -> NDArray[np.float64]:
    """K W + Wᵀ K for every pair of nodes of the pattern, shape (pairs, side, side)."""
    pattern, functions = system.pattern, system.shape[2]
    shaped = blocks.reshape(len(blocks), 3, functions, 3, functions)
    right = np.einsum("pcadb,pde->pcaeb", shaped, turning[pattern.columns], optimize=True)
    left = np.einsum("pdc,pdaeb->pcaeb", turning[pattern.rows], shaped, optimize=True)
    return (right + left).reshape(blocks.shape)


def _metal_rates(
    solution: Solution, places: FoldedPlaces, change: BodyChange, motion: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Change of the blocks of stiffness and mass of all pairs, displacements along fixed axes."""
    system, here = solution.system, solution.material
    space, column, pattern = system.space, system.column, system.pattern
    low, high = change.lower_material, change.upper_material
    lame = change.rate(low.first_lame_pa, high.first_lame_pa)
    shear = change.rate(low.shear_modulus_pa, high.shear_modulus_pa)
    density = change.rate(low.density_kg_per_m3, high.density_kg_per_m3)
    side = 3 * column.function_count
    stiffness = np.zeros((len(pattern.rows), side * side))
    masses = np.zeros((len(pattern.rows), 2))
    for start in range(0, len(space.corners_m), CHUNK):
        some = np.arange(start, min(start + CHUNK, len(space.corners_m)))
        moved = motion[space.element_nodes[some]]
        if not np.any(moved):
            continue
        points = solid_points(space, column, places, some)
        slopes = np.einsum("tpzdnf,tnfc->tpzcd", points.slopes, moved, optimize=True)
        growth = points.volume * np.einsum("tpzcc->tpz", slopes)
        turned = -np.einsum("tpzcd,tpzcnf->tpzdnf", slopes, points.slopes, optimize=True)
        half = element_gram(points, turned, points.volume)
        gram = half + half.transpose(0, 2, 1, 5, 6, 3, 4)
        gram += element_gram(points, points.slopes, growth)
        blocks = blocks_of_gram(gram, here.first_lame_pa, here.shear_modulus_pa)
        to_pairs = summing(pattern.place[some], len(pattern.rows))
        stiffness += to_pairs @ blocks.reshape(-1, side * side)
        masses += to_pairs @ element_masses(space, column, growth).reshape(-1, 2)
    if lame or shear:
        stiffness += _material_blocks(solution, places, lame, shear)
    mass = sum(
        products[:, None] * block.reshape(1, side * side)
        for products, block in zip(
            masses.T, mass_blocks(column, here.density_kg_per_m3), strict=True
        )
    )
    mass = mass + density / here.density_kg_per_m3 * blocks_of_terms(system, system.mass).reshape(
        len(pattern.rows), -1
    )
    shape = (len(pattern.rows), side, side)
    return stiffness.reshape(shape), mass.reshape(shape)


def _material_blocks(
    solution: Solution, places: FoldedPlaces, lame: float, shear: float
) -> NDArray[np.float64]:
    """Stiffness of the metal by the rates of its constants."""
    system = solution.system
    space, column, pattern = system.space, system.column, system.pattern
    side = 3 * column.function_count
    stiffness = np.zeros((len(pattern.rows), side * side))
    for start in range(0, len(space.corners_m), CHUNK):
        some = np.arange(start, min(start + CHUNK, len(space.corners_m)))
        points = solid_points(space, column, places, some)
        gram = element_gram(points, points.slopes, points.volume)
        to_pairs = summing(pattern.place[some], len(pattern.rows))
        stiffness += to_pairs @ blocks_of_gram(gram, lame, shear).reshape(-1, side * side)
    return stiffness
