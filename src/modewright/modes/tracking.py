"""Which mode is which after a change: shapes compared by the modal assurance criterion.

On a mesh that moves with the body the unknowns of two solutions belong to the same places of the
metal, so that shapes compare as vectors, weighted by the mass matrix. Modes of almost one frequency
may come out turned among themselves; being equals, they are turned to fit before they are compared.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment

from modewright.modes.derivatives import clusters
from modewright.modes.plane_space import triangle_factors
from modewright.modes.regions import sheet_polygon
from modewright.modes.sampling import sheet_shapes
from modewright.modes.term_product import TermProduct
from modewright.modes.triangle import basis_values
from modewright.modes.underside import seen_shapes
from modewright.modes.volume_solution import VolumeSolution, surface_of, weighed_by

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.sheet_shapes import SheetShapes
    from modewright.modes.solution import Solution

__all__ = [
    "AnySolution",
    "Followed",
    "follow_across",
    "follow_modes",
    "paired",
    "shape_traces",
    "turn_to_fit",
]

AnySolution: TypeAlias = "Solution | VolumeSolution"
"""Solution of a sheet or of a solid."""

# Polygons stand for arcs of a solid's plan as well as this. [m]
_SOLID_SAGITTA_M = 1e-5
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
    solution : Solution or VolumeSolution
        The later one, equals turned to fit.
    """

    places: NDArray[np.int64]
    assurance: NDArray[np.float64]
    solution: AnySolution


def follow_modes(before: AnySolution, after: AnySolution, places: NDArray[np.int64]) -> Followed:
    """Find modes of one solution again in another one on the same mesh, moved.

    Parameters
    ----------
    before, after : Solution or VolumeSolution
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
    overlap = _overlap(before, after)
    turn = turn_to_fit(overlap.T, _equals(after)).T
    overlap = overlap @ turn
    turned = _recombined(after, turn)
    # What was equal before has no shapes of its own; let it anticipate those that it takes on.
    overlap = turn_to_fit(overlap, _equals(before)) @ overlap
    found, assurance = paired(overlap[places] ** 2)
    return Followed(places=found, assurance=assurance, solution=turned)


def follow_across(before: AnySolution, after: AnySolution, places: NDArray[np.int64]) -> Followed:
    """Find modes again on another mesh, of a body that is almost the same.

    Shapes are compared at those places of the one that also lie on the other.

    Parameters and result as for `follow_modes`.
    """
    here = _plan_shapes(after)
    points, weights = _middles(here)
    sagitta_m = _SOLID_SAGITTA_M
    if not isinstance(before, VolumeSolution):
        sagitta_m = before.step.sagitta_m(before.blank)
    sheet = sheet_polygon(before.blank, sagitta_m)
    inside = shapely.contains_xy(sheet, points[:, 0], points[:, 1])
    old, new = (shapes.displacement(points[inside]) for shapes in (_plan_shapes(before), here))
    scaled = [_unit(shapes, weights[inside]) for shapes in (old, new)]
    found, assurance = paired((scaled[0].T @ scaled[1])[places] ** 2)
    return Followed(places=found, assurance=assurance, solution=after)


def shape_traces(solution: AnySolution) -> NDArray[np.float64]:
    """Shapes in the middles of the triangles, as vectors of unit length weighted by the area.

    Returns
    -------
    float array, shape (places, modes)
        Three components after each other.
    """
    if isinstance(solution, VolumeSolution):
        surface = surface_of(solution, solution.vectors)
        corners = surface.nodes_m[:, surface.corners]
        sides = np.diff(corners, axis=1)
        doubled = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
        return _unit(surface.shapes.mean(axis=1), doubled)
    shapes = _plan_shapes(solution)
    _, area = _middles(shapes)
    local, _ = basis_values(shapes.order, np.full((1, 3), 1 / 3))
    middle = np.einsum("pn,tncm->tcm", local, shapes.node_values)
    return _unit(middle, area)


def _plan_shapes(solution: AnySolution) -> SheetShapes:
    if isinstance(solution, VolumeSolution):
        return seen_shapes(surface_of(solution, solution.vectors))
    return sheet_shapes(solution.system, solution.shapes)


def _recombined(solution: AnySolution, turn: NDArray[np.float64]) -> AnySolution:
    if isinstance(solution, VolumeSolution):
        return replace(solution, vectors=solution.vectors @ turn)
    return replace(solution, shapes=solution.shapes @ turn)


def _middles(shapes: SheetShapes) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middles of the triangles of the mesh, and the area that each stands for."""
    area, _ = triangle_factors(shapes.corners_m)
    return shapes.corners_m.mean(axis=1), area


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


def _overlap(before: AnySolution, after: AnySolution) -> NDArray[np.float64]:
    """φᵀMφ of every pair, the mass being the mean of both, each shape of unit norm in it."""
    flats = [_flat(solution) for solution in (before, after)]
    if isinstance(before, VolumeSolution) != isinstance(after, VolumeSolution) or len(
        flats[0]
    ) != len(flats[1]):
        raise ValueError("after: expected a solution on the same mesh as before")
    both = np.concatenate(flats, axis=1)
    gram = sum(
        (both.T @ _weighed(solution, both) for solution in (before, after)),
        start=np.zeros((both.shape[1],) * 2),
    )
    norm = np.sqrt(np.diag(gram))
    count = flats[0].shape[1]
    return np.asarray(gram / norm / norm[:, None])[:count, count:]


def _flat(solution: AnySolution) -> NDArray[np.float64]:
    """Shapes as plain vectors, shape (unknowns, modes)."""
    if isinstance(solution, VolumeSolution):
        return solution.vectors
    return solution.shapes.reshape(-1, solution.shapes.shape[-1])


def _weighed(solution: AnySolution, flat: NDArray[np.float64]) -> NDArray[np.float64]:
    if isinstance(solution, VolumeSolution):
        return weighed_by(solution, flat)
    fields = flat.reshape(*solution.system.shape, flat.shape[1])
    weighed = TermProduct(solution.system, solution.system.mass)(fields).reshape(flat.shape)
    added = solution.added.reshape(len(flat), -1)
    return np.asarray(weighed + added @ (added.T @ flat))


def _equals(solution: AnySolution) -> list[NDArray[np.int64]]:
    return clusters(np.sqrt(solution.omega2), _NEAR_CENTS)


def turn_to_fit(
    overlap: NDArray[np.float64], equals: list[NDArray[np.int64]]
) -> NDArray[np.float64]:
    """Turn equals (rows) among themselves so that each is like few of the others (columns).

    Parameters
    ----------
    overlap : float array, shape (rows, columns)
        Products of shapes of unit length.
    equals : list of int arrays
        Rows that belong together.

    Returns
    -------
    float array, shape (rows, rows)
        Orthogonal; to be multiplied from the left.
    """
    turn = np.eye(len(overlap))
    for members in equals:
        if len(members) == 1:
            continue
        block = overlap[members]
        likest = np.argsort(-(block**2).sum(axis=0))[: len(members)]
        # Each takes the place of the one it is most like: none turns further than it must.
        order, _ = paired(block[:, likest] ** 2)
        left, _, right = np.linalg.svd(block[:, likest[order]])
        turn[np.ix_(members, members)] = (left @ right).T
    return turn
