"""Modes of solids that are no sheet, with an error estimate from two or more solutions.

Choice and figures: docs/decisions, record on volume elements.
"""

# The mesh library, whose objects are only handed on here, carries no types.
# pyright: reportUnknownVariableType=false, reportUnknownArgumentType=false

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import SolveError
from modewright.geometry.blank import Hold
from modewright.geometry.edges import straight_edges_m
from modewright.geometry.solid_shape import TurnedRod
from modewright.modes.basis import BendingStrain, Modes
from modewright.modes.labels import label_modes
from modewright.modes.one_thread import on_one_thread
from modewright.modes.regions import cut_into_regions
from modewright.modes.rod_mesh import mesh_rod
from modewright.modes.underside import seen_shapes
from modewright.modes.volume_shape import step_in_mm
from modewright.modes.volume_solution import mesh_solid, solve_volume_step, surface_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.geometry.blank import Blank
    from modewright.geometry.solid_shape import SolidShape
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.volume_solution import SolidMesh, Surface, VolumeSolution

__all__ = ["solve_volume"]

_JUDGED_MODES = 10
_SAGITTA_M = 5e-6
# Dilatation that keeps its sign over three thicknesses is extension, not bending.
_SMOOTH = 3.0
_NEAR = 1e-3
# Of the floor, what the orders have in common where stress is without bounds.
_SINGULAR_SHARE = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Setting:
    """Orders to try one after the other on tetrahedra of a share of `_size_m`.

    ``roundness`` is that of `mesh_solid`. Of the difference to the order before ``error_share`` is
    reported, plus ``floor_cents``.
    """

    orders: tuple[int, ...]
    size_share: float
    roundness: float
    error_share: float
    floor_cents: float
    wanted_cents: float


_SETTINGS = {
    "draft": _Setting(
        orders=(2, 3), size_share=1.3, roundness=0.8,
        error_share=0.5, floor_cents=10.0, wanted_cents=150.0,
    ),
    "normal": _Setting(
        orders=(2, 3, 4), size_share=1.0, roundness=1.0,
        error_share=0.6, floor_cents=1.5, wanted_cents=10.0,
    ),
    "fine": _Setting(
        orders=(3, 4, 5), size_share=0.8, roundness=1.0,
        error_share=0.4, floor_cents=0.3, wanted_cents=1.5,
    ),
}  # fmt: skip


@on_one_thread
def solve_volume(
    blank: Blank,
    solid: SolidShape,
    material: IsotropicSolid,
    *,
    count: int,
    accuracy: str,
    tell: Callable[[str], None],
) -> tuple[Modes, VolumeSolution]:
    """Find the lowest modes of a solid.

    Parameters
    ----------
    blank : Blank
        Its plan and its hold.
    solid : SolidShape
    material : IsotropicSolid
    count : int
        How many elastic modes.
    accuracy : {"draft", "normal", "fine"}
    tell : callable
        Told what is being done.

    Returns
    -------
    Modes
        Shapes are those of what is seen from below.
    VolumeSolution
        From which they were read.

    Raises
    ------
    GeometryError, SolveError
        If it cannot be meshed or held, or its modes cannot be found.
    """
    if blank.masses:
        raise SolveError(
            "modes: expected a solid by itself, got one with a mass or an armature on it.",
            hint="Make the mass part of the solid, or use a driver without an armature.",
        )
    found = _refined(blank, solid, material, count, accuracy, tell)
    tell("reading shapes")
    surface = surface_of(found, found.vectors)
    shapes = seen_shapes(surface)
    plan = cut_into_regions(_plan(blank, surface), _SAGITTA_M)
    modes = Modes(
        freq_hz=np.sqrt(found.omega2) / (2 * np.pi),
        error_cents=found.error_cents,
        labels=label_modes(shapes, plan, is_held=blank.hold is not None),
        shapes=shapes,
        bending=BendingStrain(
            thickness_m=np.array([solid.sheet_thickness_m]),
            dilatation_per_pa=found.bending_per_pa[None],
        ),
        body_mass_kg=found.mass_kg,
        source=f"solid elements, {accuracy}",
    )
    return modes, found


def _refined(
    blank: Blank,
    solid: SolidShape,
    material: IsotropicSolid,
    count: int,
    accuracy: str,
    tell: Callable[[str], None],
) -> VolumeSolution:
    """Solve to higher and higher order until two solutions differ by no more than is wanted."""
    setting = _SETTINGS[accuracy]
    mesh = _mesh(blank, solid, setting)
    more_cents = _SINGULAR_SHARE * setting.floor_cents if _is_singular(blank, solid) else 0.0

    def solved(number: int) -> VolumeSolution:
        tell(f"solution {number + 1} ({accuracy})")
        return solve_volume_step(
            mesh,
            blank,
            material,
            order=setting.orders[number],
            count=count,
            shift_rad2_s2=_reference_rad2_s2(blank, solid, material),
            smooth_m=_SMOOTH * solid.sheet_thickness_m,
        )

    found = solved(0)
    for number in range(1, len(setting.orders)):
        before, found = found, solved(number)
        gap_cents = np.abs(600 * np.log2(before.omega2 / found.omega2))
        error_cents = setting.error_share * gap_cents + setting.floor_cents
        found = replace(found, error_cents=error_cents + more_cents)
        if error_cents[:_JUDGED_MODES].max() <= setting.wanted_cents:
            break
    return found


def _is_singular(blank: Blank, solid: SolidShape) -> bool:
    """Whether stress is without bounds at an edge of a hold or of a step, or may be in a file."""
    is_stepped = not isinstance(solid, TurnedRod) or bool(np.any(np.diff(solid.places_m) == 0))
    return is_stepped or blank.hold is not None


def _mesh(blank: Blank, solid: SolidShape, setting: _Setting) -> SolidMesh:
    faces = None if blank.hold is None else blank.hold.faces
    size_m = setting.size_share * _size_m(blank, solid)
    if isinstance(solid, TurnedRod):
        return mesh_rod(solid, faces, size_m)
    return mesh_solid(step_in_mm(solid, faces), size_m, setting.roundness)


def _plan(blank: Blank, surface: Surface) -> Blank:
    """The plan alone, held along its edges over held faces; what names of modes need to know."""
    edges = straight_edges_m(blank.outline.outer)
    held = surface.nodes_m[surface.is_held][..., :2].reshape(-1, 2)
    if len(held) == 0:
        return replace(blank, hold=None, solid=None)
    room = _NEAR * np.ptp(blank.outline.outer.vertices_m, axis=0).max()
    inside = np.all((edges > held.min(axis=0) - room) & (edges < held.max(axis=0) + room), axis=2)
    hold = Hold(edges_m=edges[inside.all(axis=1)])
    return replace(blank, hold=hold, solid=None)


def _size_m(blank: Blank, solid: SolidShape) -> float:
    """Side of a tetrahedron: a few thicknesses, but a share of the body at most. [m]"""
    spans = np.ptp(blank.outline.outer.vertices_m, axis=0)
    return min(4 * solid.sheet_thickness_m, 0.35 * float(np.sqrt(spans[0] * spans[1])) + 1e-4)


def _reference_rad2_s2(blank: Blank, solid: SolidShape, material: IsotropicSolid) -> float:
    """Square of about the lowest bending frequency of a free bar of this length."""
    length = float(np.ptp(blank.outline.outer.vertices_m, axis=0).max())
    speed2 = material.youngs_modulus_pa / material.density_kg_per_m3
    return 500 * speed2 * solid.sheet_thickness_m**2 / 12 / length**4
