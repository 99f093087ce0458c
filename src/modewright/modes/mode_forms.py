"""How φᵀ(K - λM)φ answers to every number of which the matrices are made.

Worked out once for a pair of modes, it serves any number of parameters: each costs no more than
a scalar product. Energies are summed triangle by triangle, in the factors of the triangle and in
the blocks of the thickness.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.plane_space import reference_products, triangle_factors

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.body_rate import BodyRate
    from modewright.modes.elasticity import ElasticSystem, Slab, Term
    from modewright.modes.plane_space import ReferenceProducts
    from modewright.modes.solution import Solution

__all__ = ["PairForm", "pair_form", "rate_of_form"]

# Places of the kinds in the order of `plane_space.PRODUCTS`.
_SECOND = (1, 3, 4, 2)  # xx, xy, yx, yy
_FIRST = (5, 7)  # x1, y1
_FIRST_TURNED = (6, 8)  # 1x, 1y


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PairForm:
    """Slopes of φᵢᵀ(K - λM)φⱼ by factors and blocks.

    Parameters
    ----------
    first, second : float arrays, shape (nodes, 3, functions)
        Both modes.
    eigenvalue : float
        λ. [rad²/s²]
    area, scaled, pairs : float arrays
        By the factors of every triangle; shapes as in `plane_space.products_of_factors`.
    stiffness, mass : tuples of float arrays, shape (9 or 1, 3 * functions, 3 * functions)
        By the blocks of every slab.
    """

    first: NDArray[np.float64]
    second: NDArray[np.float64]
    eigenvalue: float
    area: NDArray[np.float64]
    scaled: NDArray[np.float64]
    pairs: NDArray[np.float64]
    stiffness: tuple[NDArray[np.float64], ...]
    mass: tuple[NDArray[np.float64], ...]


def pair_form(solution: Solution, first: int, second: int) -> PairForm:
    """Work out the slopes for two modes.

    Parameters
    ----------
    solution : Solution
    first, second : int
        Places of the modes; the same one twice, or neighbours of almost one frequency.

    Returns
    -------
    PairForm
    """
    system, shapes = solution.system, solution.shapes
    eigenvalue = float(solution.omega2[first] + solution.omega2[second]) / 2
    reference = reference_products(system.space.order)
    count = len(system.space.corners_m)
    area, scaled, pairs = np.zeros(count), np.zeros((count, 2, 2)), np.zeros((count, 2, 2, 2, 2))
    stiffness: list[NDArray[np.float64]] = []
    mass: list[NDArray[np.float64]] = []
    for number, slab in enumerate(system.slabs):
        left, right = (_gathered(system, slab, shapes[..., mode]) for mode in (first, second))
        blocks, mass_block = system.stiffness[number].blocks, system.mass[number].blocks
        width = left.shape[-1]
        flat = blocks.reshape(-1, width, width).copy()
        flat[0] -= eigenvalue * mass_block.reshape(width, width)
        inside = slab.triangles
        area[inside], scaled[inside], pairs[inside] = _by_factors(reference, flat, left, right)
        by_blocks = _by_blocks(system, slab, left, right)
        stiffness.append(by_blocks)
        mass.append(-eigenvalue * by_blocks[:1])
    return PairForm(
        first=shapes[..., first],
        second=shapes[..., second],
        eigenvalue=eigenvalue,
        area=area,
        scaled=scaled,
        pairs=pairs,
        stiffness=tuple(stiffness),
        mass=tuple(mass),
    )


def _gathered(system: ElasticSystem, slab: Slab, shape: NDArray[np.float64]) -> NDArray[np.float64]:
    """Unknowns at the nodes of the triangles of a slab, shape (triangles, nodes, 3 * functions)."""
    nodes = system.space.element_nodes[slab.triangles]
    return shape.reshape(len(shape), -1)[nodes]


def _by_factors(
    reference: ReferenceProducts,
    blocks: NDArray[np.float64],
    left: NDArray[np.float64],
    right: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Slopes by area, by scaled slopes and by pairs of slopes of each triangle."""
    one = np.einsum("tnc,cd,nk,tkd->t", left, blocks[0], reference.mass, right, optimize=True)
    turned = reference.mixed.swapaxes(1, 2)
    rows = [left @ blocks[kind] for kind in _SECOND]
    spread = reference.stiff.reshape(4, *reference.mass.shape)[:, None] @ right
    second = np.einsum("ktnc,atnc->tka", np.array(rows), spread, optimize=True)
    first = np.einsum(
        "xtnc,atnc->tax",
        np.array([left @ blocks[kind] for kind in _FIRST]),
        reference.mixed[:, None] @ right,
        optimize=True,
    )
    first += np.einsum(
        "xtnc,atnc->tax",
        np.array([left @ blocks[kind] for kind in _FIRST_TURNED]),
        turned[:, None] @ right,
        optimize=True,
    )
    return one, first, second.reshape(-1, 2, 2, 2, 2)


def _by_blocks(
    system: ElasticSystem, slab: Slab, left: NDArray[np.float64], right: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Slopes by the blocks of a slab, shape (9, 3 * functions, 3 * functions)."""
    area, to_local = triangle_factors(system.space.corners_m[slab.triangles])
    reference = reference_products(system.space.order)
    width = left.shape[-1]
    scaled = area[:, None, None] * to_local
    pairs = np.einsum("tax,tby->txyab", scaled, to_local).reshape(-1, 4, 4)

    def summed(weights: NDArray[np.float64], matrices: NDArray[np.float64]) -> NDArray[np.float64]:
        """Σ over triangles of weight times leftᵀ · matrix · right, one for each weight."""
        spread = (matrices[:, None] @ right).transpose(1, 0, 2, 3)
        flat = spread.reshape(len(spread), len(matrices), -1)
        weighted = np.einsum("tka,tap->ktp", weights, flat, optimize=True)
        rows = left.reshape(-1, width)
        return rows.T @ weighted.reshape(weights.shape[1], -1, width)

    result = np.empty((9, width, width))
    result[:1] = summed(area[:, None, None], reference.mass[None])
    result[list(_SECOND)] = summed(pairs, reference.stiff.reshape(4, *reference.mass.shape))
    by_slope = scaled.swapaxes(1, 2)
    result[list(_FIRST)] = summed(by_slope, reference.mixed)
    result[list(_FIRST_TURNED)] = summed(by_slope, reference.mixed.swapaxes(1, 2))
    return result


def rate_of_form(
    system: ElasticSystem, added: NDArray[np.float64], form: PairForm, rate: BodyRate
) -> float:
    """Change of φᵢᵀ(K - λM)φⱼ per unit of a parameter, both shapes and λ held fast.

    Parameters
    ----------
    system : ElasticSystem
    added : float array, shape (nodes, 3, functions, 6 * masses)
        Factor of the added mass.
    form : PairForm
    rate : BodyRate

    Returns
    -------
    float
        [rad²/s² per unit of the parameter]
    """
    factors = rate.factors
    total = float(form.area @ factors.area)
    total += float(np.vdot(form.scaled, factors.scaled)) + float(np.vdot(form.pairs, factors.pairs))
    for by_stiffness, by_mass, blocks in zip(form.stiffness, form.mass, rate.blocks, strict=True):
        total += float(np.vdot(by_stiffness, blocks.stiffness.reshape(by_stiffness.shape)))
        total += float(np.vdot(by_mass, blocks.mass.reshape(by_mass.shape)))
    for terms, weight in ((rate.stiffness, 1.0), (rate.mass, -form.eigenvalue)):
        total += weight * sum(term_form(system, t, form.first, form.second) for t in terms)
    left, right = (
        [np.tensordot(shape, factor, axes=3) for factor in (added, rate.added)]
        for shape in (form.first, form.second)
    )
    return total - form.eigenvalue * float(left[0] @ right[1] + left[1] @ right[0])


def term_form(
    system: ElasticSystem, term: Term, first: NDArray[np.float64], second: NDArray[np.float64]
) -> float:
    """φᵢᵀ T φⱼ of one term of a matrix, for which only its few pairs that are not zero count."""
    some = np.nonzero(np.any(term.products != 0, axis=1))[0]
    rows, columns = system.pattern.rows[some], system.pattern.columns[some]
    width = first[0].size
    blocks = term.blocks.reshape(-1, width, width)
    left, right = first.reshape(-1, width), second.reshape(-1, width)
    weights = term.products[some] * np.where(rows == columns, 0.5, 1.0)[:, None]
    return float(
        np.einsum("pk,pc,kcd,pd->", weights, left[rows], blocks, right[columns], optimize=True)
        + np.einsum("pk,pc,kcd,pd->", weights, right[rows], blocks, left[columns], optimize=True)
    )
