"""Modes of a sheet body by solid finite elements, with an error estimate from two solutions.

Why solid elements for sheet, and how the settings were found: docs/decisions/0003.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from modewright.modes.attached_mass import mass_factor
from modewright.modes.basis import Modes
from modewright.modes.column import Column, layer_levels
from modewright.modes.eigen import lowest_modes
from modewright.modes.elasticity import assemble
from modewright.modes.holds import hold_body
from modewright.modes.labels import label_modes
from modewright.modes.plane_mesh import MeshSizes, mesh_plane
from modewright.modes.regions import cut_into_regions
from modewright.modes.sampling import bending_strain, sheet_shapes

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.regions import PlaneRegions

__all__ = ["ACCURACIES", "Accuracy", "body_mass_kg", "solve_modes"]

Accuracy = Literal["draft", "normal", "fine"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Setting:
    """How a body is discretised.

    ``edge_share`` is the largest side of a triangle as a share of √(area/modes), which is about a
    third of the bending wavelength of the highest mode; ``corner_share`` the side at singular
    corners as a share of that. The first check has its own order or its own, larger triangles, and
    ``error_share`` of the difference is reported as the error. Where that exceeds ``refine_cents``
    in the first ten modes, the triangles are made smaller, at most ``refinements`` times, until the
    error is below ``wanted_cents``.
    """

    orders: tuple[int, int]
    edge_share: float
    corner_share: float
    check_orders: tuple[int, int]
    check_edge_share: float
    error_share: float
    refine_cents: float
    wanted_cents: float
    refinements: int


ACCURACIES: dict[Accuracy, _Setting] = {
    "draft": _Setting(
        orders=(2, 2), edge_share=1.0, corner_share=0.5,
        check_orders=(2, 2), check_edge_share=1.6, error_share=0.8,
        refine_cents=np.inf, wanted_cents=np.inf, refinements=0,
    ),
    "normal": _Setting(
        orders=(3, 3), edge_share=1.0, corner_share=0.3,
        check_orders=(2, 2), check_edge_share=1.0, error_share=0.3,
        refine_cents=25.0, wanted_cents=10.0, refinements=2,
    ),
    "fine": _Setting(
        orders=(4, 3), edge_share=0.7, corner_share=0.05,
        check_orders=(3, 3), check_edge_share=0.7, error_share=0.5,
        refine_cents=4.0, wanted_cents=2.0, refinements=2,
    ),
}  # fmt: skip

_REFINEMENT = 0.55
# Share of the difference between two meshes that is left as the error of the finer: with sides in
# the ratio above the error falls to a third or less even where corners limit it.
_REFINED_ERROR_SHARE = 0.4
_JUDGED_MODES = 10

_SAGITTA_SHARE = 0.004
_LAYER_SHARE = 1.5
_FEW_MODES = 8
_STEP_SHARE = 2.0
_LEAST_STEP_SHARE = 0.25
_SAME_M = 1e-9


def solve_modes(
    blank: Blank,
    material: IsotropicSolid,
    *,
    count: int,
    accuracy: Accuracy,
    progress: Callable[[str], None] | None = None,
) -> Modes:
    """Find the lowest modes of a body.

    Parameters
    ----------
    blank : Blank
    material : IsotropicSolid
    count : int
        How many elastic modes.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Modes
        Rigid-body motions of a free body are left out.

    Raises
    ------
    GeometryError
        If the outline cannot be meshed.
    SolveError
        If the modes cannot be found.
    """
    tell: Callable[[str], None] = progress if progress is not None else _silent
    setting = ACCURACIES[accuracy]
    tell(f"meshing ({accuracy})")
    body = _discretise(blank, setting, setting.edge_share, count)
    is_same_mesh = setting.check_edge_share == setting.edge_share
    check_body = (
        body if is_same_mesh else _discretise(blank, setting, setting.check_edge_share, count)
    )
    tell("first solution")
    check = _solve(check_body, blank, material, setting.check_orders, count)
    tell("second solution")
    found = _solve(body, blank, material, setting.orders, count)
    error_cents = setting.error_share * _gap_cents(check, found)
    limit_cents, edge_share = setting.refine_cents, setting.edge_share
    for _ in range(setting.refinements):
        if error_cents[:_JUDGED_MODES].max() <= limit_cents:
            break
        limit_cents, edge_share = setting.wanted_cents, edge_share * _REFINEMENT
        tell("refining")
        body = _discretise(blank, setting, edge_share, count)
        coarser, found = found, _solve(body, blank, material, setting.orders, count)
        error_cents = _REFINED_ERROR_SHARE * _gap_cents(coarser, found)
    tell("reading shapes")
    return _describe(body, found, error_cents, blank, material, accuracy)


def _silent(_: str) -> None:
    """Progress that nobody asked for."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solution:
    system: ElasticSystem
    omega2: NDArray[np.float64]
    shapes: NDArray[np.float64]


def _gap_cents(first: _Solution, second: _Solution) -> NDArray[np.float64]:
    return np.abs(600 * np.log2(first.omega2 / second.omega2))


def _describe(
    body: _Body,
    found: _Solution,
    error_cents: NDArray[np.float64],
    blank: Blank,
    material: IsotropicSolid,
    accuracy: str,
) -> Modes:
    shapes = sheet_shapes(found.system, found.shapes)
    return Modes(
        freq_hz=np.sqrt(found.omega2) / (2 * np.pi),
        error_cents=error_cents,
        labels=label_modes(shapes, body.regions, is_held=blank.hold is not None),
        shapes=shapes,
        bending=bending_strain(found.system, found.shapes, found.omega2),
        body_mass_kg=body_mass_kg(body.regions, blank, material),
        source=f"solid elements, {accuracy}",
    )


def _with_definite_sign(shapes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Make the largest unknown of each mode positive: nothing may depend on the sign."""
    flat = shapes.reshape(-1, shapes.shape[-1])
    largest = np.take_along_axis(flat, np.abs(flat).argmax(axis=0)[None, :], axis=0)[0]
    return shapes * np.where(largest < 0, -1.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Body:
    regions: PlaneRegions
    plane: PlaneMesh
    levels_m: NDArray[np.float64]


def _discretise(blank: Blank, setting: _Setting, edge_share: float, count: int) -> _Body:
    size_m = float(np.ptp(blank.outline.outer.vertices_m, axis=0).max())
    regions = cut_into_regions(blank, _SAGITTA_SHARE * min(size_m, 10 * blank.thickness_m))
    edge_m = edge_share * float(np.sqrt(regions.area_m2 / max(count, _FEW_MODES)))
    sizes = MeshSizes(
        edge_m=edge_m,
        corner_edge_m=setting.corner_share * edge_m,
        step_edge_m=max(_STEP_SHARE * blank.thickness_m, _LEAST_STEP_SHARE * edge_m),
        layer_m=blank.thickness_m,
    )
    plane = mesh_plane(regions, sizes)
    levels_m = layer_levels(regions.faces_m, _LAYER_SHARE * edge_m)
    return _Body(regions=regions, plane=plane, levels_m=levels_m)


def _is_mirrored(blank: Blank, regions: PlaneRegions) -> bool:
    """Whether the body is its own mirror image in the middle plane of the sheet."""
    off_middle = [abs(r.bottom_m + r.top_m - blank.thickness_m) for r in regions.regions]
    return not blank.masses and max(off_middle) < _SAME_M


def body_mass_kg(regions: PlaneRegions, blank: Blank, material: IsotropicSolid) -> float:
    """Mass of the sheet and of what is attached to it. [kg]"""
    volume = sum(r.polygon.area * (r.top_m - r.bottom_m) for r in regions.regions)
    return material.density_kg_m3 * volume + sum(mass.mass_kg for mass in blank.masses)


def _reference_rad2_s2(blank: Blank, material: IsotropicSolid, regions: PlaneRegions) -> float:
    """Square of about the lowest bending frequency of a free plate of this area.

    Weyl's estimate counts one mode per 4π/(area) of squared wavenumber.
    """
    bending = material.plate_modulus_pa * blank.thickness_m**2 / (12 * material.density_kg_m3)
    return bending * (4 * np.pi / regions.area_m2) ** 2


def _solve(
    body: _Body, blank: Blank, material: IsotropicSolid, orders: tuple[int, int], count: int
) -> _Solution:
    # Several layers resolve the thickness better with parabolas than one with a cubic.
    through = orders[1] if len(body.levels_m) == 2 else 2
    column = Column(
        levels_m=body.levels_m, order=through, is_mirrored=_is_mirrored(blank, body.regions)
    )
    free = assemble(body.plane, body.regions, material, column, orders[0])
    system = hold_body(free, body.plane, body.regions, blank.hold)
    added = mass_factor(system, body.plane, body.regions, blank.masses)
    shift = 0.0 if blank.hold is not None else _reference_rad2_s2(blank, material, body.regions)
    omega2, shapes = lowest_modes(system, added, count, shift)
    return _Solution(system=system, omega2=omega2, shapes=_with_definite_sign(shapes))
