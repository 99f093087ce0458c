"""A changed solid solved on the mesh of another, moved along."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from modewright.errors import SolveError
from modewright.geometry.solid_shape import StepBody, TurnedRod
from modewright.modes.one_thread import on_one_thread
from modewright.modes.rod_mesh import RodMesh
from modewright.modes.volume_solution import solve_volume_step

if TYPE_CHECKING:
    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.volume_solution import SolidMesh, VolumeSolution

__all__ = ["solve_volume_moved"]

# A layer may grow or shrink by this factor against the others before the mesh counts as spoilt.
_MOST_STRETCHED = 2.5


@on_one_thread
def solve_volume_moved(
    solution: VolumeSolution, blank: Blank, material: IsotropicSolid, *, count: int
) -> VolumeSolution:
    """Solve a solid on the moved mesh of another one.

    Parameters
    ----------
    solution : VolumeSolution
        Of the other one.
    blank : Blank
        With a rod of the same sequence of steps, or the same solid of a file; held alike.
    material : IsotropicSolid
    count : int
        How many modes.

    Returns
    -------
    VolumeSolution

    Raises
    ------
    GeometryError, SolveError
        If the solids do not belong together, or differ so much that the mesh would be spoilt.
    """
    return solve_volume_step(
        _moved_mesh(solution, blank),
        blank,
        material,
        order=solution.order,
        count=count,
        shift_rad2_s2=solution.shift_rad2_s2,
        smooth_m=solution.smooth_m,
    )


def _moved_mesh(solution: VolumeSolution, blank: Blank) -> SolidMesh:
    mesh, before, after = solution.mesh, solution.blank.solid, blank.solid
    if isinstance(mesh, RodMesh) and isinstance(after, TurnedRod):
        stretched = mesh.stretched(after)
        if stretched > _MOST_STRETCHED:
            raise SolveError(
                "moved mesh: expected layers that keep their shape, got one that becomes "
                f"{stretched:.1f} times as long against its width.",
                hint="Go in smaller steps or mesh anew.",
            )
        return replace(mesh, rod=after)
    is_same = (
        isinstance(before, StepBody)
        and isinstance(after, StepBody)
        and before.text == after.text
        and _choice(solution.blank) == _choice(blank)
    )
    if not is_same:
        raise SolveError(
            "moved mesh: expected the same solid held at the same faces, got another.",
            hint="Mesh anew.",
        )
    return mesh


def _choice(blank: Blank) -> object:
    return None if blank.hold is None else blank.hold.faces
