"""A changed body solved on the mesh of another, moved along.

Without new meshes, frequencies are smooth functions of every dimension: what a difference of two
solutions shows is the change of the body.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import SolveError
from modewright.modes.body_change import BodyChange
from modewright.modes.mesh_motion import mesh_rates
from modewright.modes.solution import Discretisation, solve_discretised

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.regions import PlaneRegions
    from modewright.modes.solution import Solution

__all__ = ["solve_moved"]

# A triangle may shrink to this share of its area before the mesh counts as spoilt.
_LEAST_SHARE = 0.3


def solve_moved(
    solution: Solution, blank: Blank, material: IsotropicSolid, *, count: int | None = None
) -> Solution:
    """Solve a body drawn like another one on the moved mesh of that one.

    Parameters
    ----------
    solution : Solution
        Of the other body.
    blank : Blank
        Drawn alike: the same loops of the same lines and arcs.
    material : IsotropicSolid
    count : int, optional
        How many modes; as many as the solution has if left out.

    Returns
    -------
    Solution

    Raises
    ------
    GeometryError
        If the blanks are not drawn alike.
    SolveError
        If the bodies differ so much that the mesh would be spoilt.
    """
    body, before = solution.body, solution.blank
    change = BodyChange(
        lower=before, upper=blank, lower_material=solution.material, upper_material=material,
        step=0.5,
    )  # fmt: skip
    rates = mesh_rates(solution, [change])
    moved_m = body.plane.points_m + rates.points[..., 0]
    _check_triangles(body.plane.points_m[body.plane.triangles], moved_m[body.plane.triangles])
    levels_m = body.levels_m + rates.levels[:, 0]
    moved = Discretisation(
        regions=_with_levels(body.regions, body.levels_m, levels_m),
        plane=replace(body.plane, points_m=moved_m),
        levels_m=levels_m,
        is_thick=body.is_thick,
    )
    number = len(solution.omega2) if count is None else count
    return solve_discretised(moved, blank, material, solution.step, number)


def _check_triangles(before_m: NDArray[np.float64], after_m: NDArray[np.float64]) -> None:
    before, after = (_doubled_area(corners) for corners in (before_m, after_m))
    if np.any(after < _LEAST_SHARE * before):
        raise SolveError(
            "moved mesh: expected triangles that keep their shape, got some squeezed to "
            f"{100 * float((after / before).min()):.0f} % of their area.",
            hint="Go in smaller steps or mesh anew.",
        )


def _doubled_area(corners_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Positive for corners that run anticlockwise."""
    a, b = corners_m[:, 1] - corners_m[:, 0], corners_m[:, 2] - corners_m[:, 0]
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _with_levels(
    regions: PlaneRegions, before_m: NDArray[np.float64], after_m: NDArray[np.float64]
) -> PlaneRegions:
    """The same regions with their faces at the moved levels."""

    def height(z_m: float) -> float:
        return float(after_m[np.abs(before_m - z_m).argmin()])

    moved = tuple(
        replace(region, bottom_m=height(region.bottom_m), top_m=height(region.top_m))
        for region in regions.regions
    )
    return replace(regions, regions=moved)
