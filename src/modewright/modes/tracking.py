"""Which mode is which after a change: shapes compared by the modal assurance criterion.

On a mesh that moves with the body the unknowns of two solutions belong to the same places of the
metal, so that shapes compare as vectors, weighted by the mass matrix. Modes of almost one frequency
may come out turned among themselves; being equals, they are turned to fit before they are compared.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment

from modewright.modes.derivatives import clusters
from modewright.modes.plane_space import triangle_factors
from modewright.modes.regions import sheet_polygon
from modewright.modes.sampling import sheet_shapes
from modewright.modes.term_product import TermProduct
from modewright.modes.triangle import basis_values

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.solution import Solution

__all__ = ["Followed", "follow_across", "follow_modes", "paired", "shape_traces"]

# Modes nearer than this are equals. A veering as narrow passes for a crossing. [cents]
_NEAR_CENTS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Followed:
    """Modes of a solution in the order of those that they continue.

    Parameters
    ----------
    places : int array, shape (modes,)
        Place in the later solution of each mode of the earlier one.
    assurance : float array, shape (modes,)
        Modal assurance criterion of each with the one it continues, 0 to 1.
    solution : Solution
        The later one, equals turned to fit.
    """

    places: NDArray[np.int64]
    assurance: NDArray[np.float64]
    solution: Solution


def follow_modes(before: Solution, after: Solution, places: NDArray[np.int64]) -> Followed:
    """Find modes of one solution again in another one on the same mesh, moved.

    Parameters
    ----------
    before, after : Solution
        Of a body before and after a change.
    places : int array, shape (modes,)
        Modes of `before` that are followed.

    Returns
    -------
    Followed

    Raises
    ------
    ValueError
        If the solutions do not have the same unknowns.

    References
    ----------
    Allemang, The modal assurance criterion, Sound and Vibration 37 (2003) 14 (from memory).
    """
    if before.shapes.shape[:3] != after.shapes.shape[:3]:
        raise ValueError("after: expected a solution on the same mesh as before")
    overlap = _overlap(before, after)
    turn = _turn_to_fit(overlap.T, after.omega2).T
    overlap = overlap @ turn
    turned = replace(after, shapes=after.shapes @ turn)
    # What was equal before has no shapes of its own; let it anticipate those that it takes on.
    overlap = _turn_to_fit(overlap, before.omega2) @ overlap
    found, assurance = paired(overlap[places] ** 2)
    return Followed(places=found, assurance=assurance, solution=turned)


def follow_across(before: Solution, after: Solution, places: NDArray[np.int64]) -> Followed:
    """Find modes again on another mesh, of a body that is almost the same.

    Shapes are compared at those places of the one that also lie on the other.

    Parameters and result as for `follow_modes`.
    """
    points, weights = _middles(after)
    sheet = sheet_polygon(before.blank, before.step.sagitta_m(before.blank))
    inside = shapely.contains_xy(sheet, points[:, 0], points[:, 1])
    old, new = (
        sheet_shapes(one.system, one.shapes).displacement(points[inside]) for one in (before, after)
    )
    scaled = [_unit(shapes, weights[inside]) for shapes in (old, new)]
    found, assurance = paired((scaled[0].T @ scaled[1])[places] ** 2)
    return Followed(places=found, assurance=assurance, solution=after)


def shape_traces(solution: Solution) -> NDArray[np.float64]:
    """Shapes in the middles of the triangles, as vectors of unit length weighted by the area.

    Returns
    -------
    float array, shape (places, modes)
        Three components after each other.
    """
    _, area = _middles(solution)
    shapes = sheet_shapes(solution.system, solution.shapes)
    local, _ = basis_values(shapes.order, np.full((1, 3), 1 / 3))
    middle = np.einsum("pn,tncm->tcm", local, shapes.node_values)
    return _unit(middle, area)


def _middles(solution: Solution) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middles of the triangles of the mesh, and the area that each stands for."""
    corners_m = solution.system.space.corners_m
    area, _ = triangle_factors(corners_m)
    return corners_m.mean(axis=1), area


def _unit(shapes: NDArray[np.float64], weights: NDArray[np.float64]) -> NDArray[np.float64]:
    flat = (shapes * np.sqrt(weights)[:, None, None]).reshape(-1, shapes.shape[-1])
    return flat / np.linalg.norm(flat, axis=0)


def paired(criterion: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Pair modes so that the sum of the criterion is largest.

    Parameters
    ----------
    criterion : float array, shape (modes, others)
        0 to 1; at least as many others as modes.

    Returns
    -------
    places : int array, shape (modes,)
        The other one of each.
    values : float array, shape (modes,)
        Criterion of each pair.
    """
    rows, columns = linear_sum_assignment(-criterion)
    return np.asarray(columns, dtype=np.int64), criterion[rows, columns]


def _overlap(before: Solution, after: Solution) -> NDArray[np.float64]:
    """φᵀMφ of every pair, the mass being the mean of both, each shape of unit norm in it."""
    axes = ([0, 1, 2], [0, 1, 2])
    shapes = np.concatenate([before.shapes, after.shapes], axis=-1)
    gram = np.zeros((shapes.shape[-1],) * 2)
    for solution in (before, after):
        weighed = TermProduct(solution.system, solution.system.mass)(shapes)
        gram += np.tensordot(shapes, weighed, axes=axes)
        lumped = np.tensordot(solution.added, shapes, axes=axes)
        gram += lumped.T @ lumped
    norm = np.sqrt(np.diag(gram))
    count = before.shapes.shape[-1]
    return (gram / norm / norm[:, None])[:count, count:]


def _turn_to_fit(overlap: NDArray[np.float64], omega2: NDArray[np.float64]) -> NDArray[np.float64]:
    """Turn equals (rows) among themselves so that each is like few of the others (columns).

    Returns
    -------
    float array, shape (rows, rows)
        Orthogonal; to be multiplied from the left.
    """
    turn = np.eye(len(overlap))
    for members in clusters(np.sqrt(omega2), _NEAR_CENTS):
        if len(members) == 1:
            continue
        block = overlap[members]
        likest = np.argsort(-(block**2).sum(axis=0))[: len(members)]
        # Each takes the place of the one it is most like: none turns further than it must.
        order, _ = paired(block[:, likest] ** 2)
        left, _, right = np.linalg.svd(block[:, likest[order]])
        turn[np.ix_(members, members)] = (left @ right).T
    return turn
