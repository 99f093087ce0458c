"""How the matrices of a solved body change with a parameter, on a mesh that moves with the body."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.attached_mass import mass_factor
from modewright.modes.column import Column, ThicknessProducts
from modewright.modes.elasticity import Term, mass_block, stiffness_blocks
from modewright.modes.holds import hold_body
from modewright.modes.mesh_motion import mesh_rates
from modewright.modes.plane_space import triangle_factors

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.modes.body_change import BodyChange
    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.solution import Solution

__all__ = ["BlockRates", "BodyRate", "FactorRates", "body_rates"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FactorRates:
    """Change of the factors of every triangle; shapes as in `plane_space.products_of_factors`."""

    area: NDArray[np.float64]
    scaled: NDArray[np.float64]
    pairs: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlockRates:
    """Change of the blocks of one slab.

    Parameters
    ----------
    stiffness : float array, shape (9, 3, functions, 3, functions)
    mass : float array, shape (1, 3, functions, 3, functions)
    """

    stiffness: NDArray[np.float64]
    mass: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyRate:
    """Change per unit of one parameter.

    Parameters
    ----------
    points : float array, shape (points of the mesh, 2)
        [m]
    levels : float array, shape (levels,)
        [m]
    factors : FactorRates
    blocks : tuple of BlockRates
        Slab by slab.
    stiffness, mass : tuples of Term
        What else changes: the springs of an elastic hold.
    added : float array, shape (nodes, 3, functions, 6 * masses)
        Of the factor of the added mass.
    """

    points: NDArray[np.float64]
    levels: NDArray[np.float64]
    factors: FactorRates
    blocks: tuple[BlockRates, ...]
    stiffness: tuple[Term, ...]
    mass: tuple[Term, ...]
    added: NDArray[np.float64]


def body_rates(solution: Solution, changes: Sequence[BodyChange]) -> tuple[BodyRate, ...]:
    """Find what every parameter changes.

    Parameters
    ----------
    solution : Solution
    changes : sequence of BodyChange
        Of its blank and material.

    Returns
    -------
    tuple of BodyRate
    """
    if not changes:
        return ()
    moved = mesh_rates(solution, changes)
    return tuple(
        _rate(solution, change, moved.points[..., k], moved.levels[:, k])
        for k, change in enumerate(changes)
    )


def _rate(
    solution: Solution,
    change: BodyChange,
    points: NDArray[np.float64],
    levels: NDArray[np.float64],
) -> BodyRate:
    low, high = (
        _moved(solution, way * change.step, blank, points, levels)
        for way, blank in ((-1.0, change.lower), (1.0, change.upper))
    )
    here, below, above = (_springs(one) for one in (solution.system, low.system, high.system))
    corners = points[solution.body.plane.triangles]
    return BodyRate(
        points=points,
        levels=levels,
        factors=_factor_rates(solution.system.space.corners_m, corners),
        blocks=_block_rates(solution, change, levels),
        stiffness=tuple(
            part
            for terms in zip(here, below, above, strict=True)
            for part in _difference(terms, change.step)
        ),
        mass=(),
        added=(high.added - low.added) / (2 * change.step),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Moved:
    system: ElasticSystem
    added: NDArray[np.float64]


def _moved(
    solution: Solution,
    amount: float,
    blank: Blank,
    points: NDArray[np.float64],
    levels: NDArray[np.float64],
) -> _Moved:
    """Hold and attached masses of the moved body; its metal is left as it was."""
    body, system = solution.body, solution.system
    plane: PlaneMesh = replace(body.plane, points_m=body.plane.points_m + amount * points)
    column = system.column
    free = replace(
        system,
        space=replace(system.space, corners_m=plane.points_m[plane.triangles]),
        column=Column(
            levels_m=column.levels_m + amount * levels,
            order=column.order,
            is_mirrored=column.is_mirrored,
        ),
        stiffness=system.stiffness[: len(system.slabs)],
    )
    return _Moved(
        system=hold_body(free, plane, body.regions, blank.hold),
        added=mass_factor(free, plane, body.regions, blank.masses),
    )


def _springs(system: ElasticSystem) -> tuple[Term, ...]:
    return system.stiffness[len(system.slabs) :]


def _difference(terms: tuple[Term, Term, Term], step: float) -> tuple[Term, Term]:
    here, below, above = terms
    return (
        Term(products=(above.products - below.products) / (2 * step), blocks=here.blocks),
        Term(products=here.products, blocks=(above.blocks - below.blocks) / (2 * step)),
    )


def _factor_rates(corners_m: NDArray[np.float64], rates: NDArray[np.float64]) -> FactorRates:
    """Differentiate area and slopes: d|J| = |J| tr(J⁻¹ dJ), d(J⁻¹) = -J⁻¹ dJ J⁻¹."""
    area, to_local = triangle_factors(corners_m)
    turning = np.stack([rates[:, 0] - rates[:, 2], rates[:, 1] - rates[:, 2]], axis=2)
    stretch = to_local @ turning
    d_area = area * np.einsum("taa->t", stretch)
    d_local = -stretch @ to_local
    scaled = area[:, None, None] * to_local
    d_scaled = d_area[:, None, None] * to_local + area[:, None, None] * d_local
    pairs = np.einsum("tax,tby->txyab", d_scaled, to_local)
    pairs += np.einsum("tax,tby->txyab", scaled, d_local)
    return FactorRates(area=d_area, scaled=d_scaled, pairs=pairs)


def _block_rates(
    solution: Solution, change: BodyChange, levels: NDArray[np.float64]
) -> tuple[BlockRates, ...]:
    below, above, here = change.lower_material, change.upper_material, solution.material
    lame = change.rate(below.first_lame_pa, above.first_lame_pa)
    shear = change.rate(below.shear_modulus_pa, above.shear_modulus_pa)
    density = change.rate(below.density_kg_per_m3, above.density_kg_per_m3)
    column = solution.system.column
    rates: list[BlockRates] = []
    for slab in solution.system.slabs:
        z = column.products(slab.layers)
        dz = _thickness_rates(column, slab.layers, levels)
        rates.append(
            BlockRates(
                stiffness=stiffness_blocks(lame, shear, z)
                + stiffness_blocks(here.first_lame_pa, here.shear_modulus_pa, dz),
                mass=mass_block(density, z) + mass_block(here.density_kg_per_m3, dz),
            )
        )
    return tuple(rates)


def _thickness_rates(
    column: Column, layers: range, levels: NDArray[np.float64]
) -> ThicknessProducts:
    """Products of a layer go with its height h: values with h, slopes with 1/h, mixed ones not."""
    height, growth = np.diff(column.levels_m), np.diff(levels)
    count = column.function_count
    values, slopes = np.zeros((2, count, count))
    for layer in layers:
        products, share = column.products([layer]), growth[layer] / height[layer]
        values += share * products.values
        slopes -= share * products.slopes
    return ThicknessProducts(values=values, slopes=slopes, slope_value=np.zeros((count, count)))
