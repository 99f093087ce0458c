"""How the mesh moves when the body changes: its points in the plane, its levels through the sheet.

Corners of the regions move with the curves. Points between them stay on their piece and slide along
it, the others follow, all so that the sum of squared slopes of the motion is least. Topology never
changes, so frequencies of the moved mesh are smooth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp
import shapely
from scipy.sparse.linalg import splu
from shapely import LineString, Polygon, STRtree

from modewright.errors import SolveError
from modewright.geometry.flatten import flatten
from modewright.modes.curve_motion import corner_rates
from modewright.modes.plane_space import triangle_factors

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.modes.body_change import BodyChange
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.regions import PlaneRegion, PlaneRegions
    from modewright.modes.solution import Solution

__all__ = ["MeshRates", "level_rates", "mesh_rates"]

_SAME_RATE = 1e-6
_SAME_M = 2e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeshRates:
    """Motion of a mesh per unit of each parameter.

    Parameters
    ----------
    points : float array, shape (points, 2, changes)
    levels : float array, shape (levels, changes)
    """

    points: NDArray[np.float64]
    levels: NDArray[np.float64]


def mesh_rates(solution: Solution, changes: Sequence[BodyChange]) -> MeshRates:
    """Motion of the mesh of a solved body.

    Parameters
    ----------
    solution : Solution
    changes : sequence of BodyChange
        Of its blank, at least one.

    Returns
    -------
    MeshRates

    Raises
    ------
    GeometryError
        If a change alters the sequence of lines and arcs.
    SolveError
        If faces of the same height move apart.
    """
    body, blank = solution.body, solution.blank
    sagitta_m = solution.step.sagitta_m(blank)
    corners = corner_rates(body.regions, blank, changes, sagitta_m)
    return MeshRates(
        points=_point_rates(body.plane, body.regions, corners),
        levels=level_rates(body.levels_m, body.regions, blank, changes, sagitta_m),
    )


def _point_rates(
    plane: PlaneMesh, regions: PlaneRegions, corners: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Motion of every point of the mesh.

    Parameters
    ----------
    plane, regions : PlaneMesh, PlaneRegions
        Of the same sheet.
    corners : float array, shape (corners of the regions, 2, changes)
        Motion of the corners, as from `modewright.modes.curve_motion.corner_rates`.

    Returns
    -------
    float array, shape (points, 2, changes)
    """
    held = _held_to_pieces(plane, regions, corners)
    size, changes = len(plane.points_m), corners.shape[2]
    inner = np.setdiff1d(np.unique(plane.triangles), held.points)
    sliding = held.points[~held.is_corner]
    # Unknowns: both components of inner points, then the way along its piece of every other.
    numbers = np.concatenate([2 * inner, 2 * inner + 1, 2 * sliding, 2 * sliding + 1])
    ways = np.arange(2 * len(inner), 2 * len(inner) + len(sliding))
    columns = np.concatenate([np.arange(2 * len(inner)), ways, ways])
    along = held.along[~held.is_corner]
    values = np.concatenate([np.ones(2 * len(inner)), along[:, 0], along[:, 1]])
    freedom = sp.csc_matrix(
        (values, (numbers, columns)), shape=(2 * size, 2 * len(inner) + len(sliding))
    )
    given = np.zeros((size, 2, changes))
    given[held.points] = held.given
    rates = given.reshape(2 * size, changes)
    if freedom.shape[1]:
        matrix = sp.kron(_laplacian(plane), sp.identity(2), format="csc")
        reduced = sp.csc_matrix(freedom.T @ matrix @ freedom)
        right = np.asarray(freedom.T @ (matrix @ rates))
        rates = rates - np.asarray(freedom @ splu(reduced).solve(right))
    return rates.reshape(size, 2, changes)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Held:
    """Points on the curves.

    Parameters
    ----------
    points : int array, shape (held,)
    is_corner : bool array, shape (held,)
        Whether it is a corner of the regions, which moves as given; the others may slide along.
    along : float array, shape (held, 2)
        Direction of the piece.
    given : float array, shape (held, 2, changes)
        Motion of corners; that of the others across their pieces.
    """

    points: NDArray[np.int64]
    is_corner: NDArray[np.bool_]
    along: NDArray[np.float64]
    given: NDArray[np.float64]


def _held_to_pieces(plane: PlaneMesh, regions: PlaneRegions, corners: NDArray[np.float64]) -> _Held:
    points = _points_on_curves(plane)
    places_m = plane.points_m[points]
    starts = np.array([edge.start for edge in regions.edges])
    ends = np.array([edge.end for edge in regions.edges])
    pieces = [LineString(regions.nodes_m[[edge.start, edge.end]]) for edge in regions.edges]
    found = STRtree(pieces).query_nearest(shapely.points(places_m), all_matches=False)
    near = np.empty(len(points), dtype=np.int64)
    near[found[0]] = found[1]
    start, run = regions.nodes_m[starts[near]], regions.nodes_m[ends[near]]
    run = run - start
    squared = (run**2).sum(axis=1)
    share = np.clip(((places_m - start) * run).sum(axis=1) / squared, 0.0, 1.0)
    along = run / np.sqrt(squared)[:, None]
    rates = corners[starts[near]] + share[:, None, None] * (
        corners[ends[near]] - corners[starts[near]]
    )
    is_corner = np.minimum(share, 1 - share) * np.sqrt(squared) < _SAME_M
    sliding = along[:, :, None] * np.einsum("px,pxc->pc", along, rates)[:, None]
    given = rates - sliding
    given[is_corner] = rates[is_corner]
    return _Held(points=points, is_corner=is_corner, along=along, given=given)


def _points_on_curves(plane: PlaneMesh) -> NDArray[np.int64]:
    """Ends of the sides that have metal on one side only, or two regions."""
    sides = np.sort(plane.triangles[:, [[0, 1], [1, 2], [2, 0]]], axis=-1).reshape(-1, 2)
    region = np.repeat(plane.region, 3)
    _, which, count = np.unique(sides, axis=0, return_inverse=True, return_counts=True)
    which = which.ravel()
    low = np.full(len(count), region.max() + 1)
    high = np.full(len(count), -1)
    np.minimum.at(low, which, region)
    np.maximum.at(high, which, region)
    is_on_curve = (count == 1) | (low != high)
    return np.unique(sides[is_on_curve[which]])


def _laplacian(plane: PlaneMesh) -> sp.csc_matrix:
    """Matrix whose energy the motion makes least."""
    area, to_local = triangle_factors(plane.points_m[plane.triangles])
    slopes = np.concatenate([to_local, -to_local.sum(axis=1, keepdims=True)], axis=1)
    local = area[:, None, None] * (slopes @ slopes.swapaxes(1, 2))
    size = len(plane.points_m)
    rows = np.repeat(plane.triangles, 3, axis=1).ravel()
    columns = np.tile(plane.triangles, (1, 3)).ravel()
    return sp.csc_matrix((local.ravel(), (rows, columns)), shape=(size, size))


def level_rates(
    levels_m: NDArray[np.float64],
    regions: PlaneRegions,
    blank: Blank,
    changes: Sequence[BodyChange],
    sagitta_m: float,
) -> NDArray[np.float64]:
    """Motion of every level of the column.

    Parameters
    ----------
    levels_m : float array, shape (levels,)
        With a level at every face of the regions. [m]
    regions : PlaneRegions
        Of the blank, cut with this sagitta.
    blank : Blank
    changes : sequence of BodyChange
        Of that blank.
    sagitta_m : float
        [m]

    Returns
    -------
    float array, shape (levels, changes)
        [m per unit of the parameter]

    Raises
    ------
    SolveError
        If two faces at the same height move apart.
    """
    pockets = [Polygon(flatten(pocket.loop, sagitta_m)) for pocket in blank.pockets]
    largest = np.max([np.abs(rate) for rate in _all_rates(changes)], axis=0)
    known: dict[int, NDArray[np.float64]] = {}
    for region in regions.regions:
        inside = region.polygon.representative_point()
        over = [number for number, shape in enumerate(pockets) if shape.contains(inside)]
        faces = zip(_faces(region), _face_rates(blank, over, changes), strict=True)
        for height, rate in faces:
            level = int(np.abs(levels_m - height).argmin())
            before = known.setdefault(level, rate)
            if np.any(np.abs(before - rate) > _SAME_RATE * largest):
                raise SolveError(
                    f"derivatives: expected every face at {height * 1e3:.4f} mm to move alike, got "
                    "thinned regions of the same depth of which only one changes.",
                    hint="Let their depths differ by a micrometre.",
                )
    numbers = sorted(known)
    faces = np.array([known[number] for number in numbers])
    rates = np.empty((len(levels_m), len(changes)))
    for k in range(len(changes)):
        rates[:, k] = np.interp(levels_m, levels_m[numbers], faces[:, k])
    return rates


def _faces(region: PlaneRegion) -> tuple[float, float]:
    return region.bottom_m, region.top_m


def _face_rates(
    blank: Blank, over: list[int], changes: Sequence[BodyChange]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Motion of the lower and the upper face where these pockets lie."""
    sheet, *left = _all_rates(changes)
    bottom, top = np.zeros(len(changes)), sheet.copy()
    for number in over:
        if blank.pockets[number].side == "bottom":
            bottom += sheet - left[number]
        else:
            top -= sheet - left[number]
    return bottom, top


def _all_rates(changes: Sequence[BodyChange]) -> list[NDArray[np.float64]]:
    """Change of the thickness of the sheet, then of what every pocket leaves of it."""
    sheet = [c.rate(c.lower.thickness_m, c.upper.thickness_m) for c in changes]
    left = [
        [
            c.rate(below.thickness_m, above.thickness_m)
            for below, above in zip(c.lower.pockets, c.upper.pockets, strict=True)
        ]
        for c in changes
    ]
    return [np.array(rates) for rates in (sheet, *zip(*left, strict=True))]
