"""Modes of a sheet body by solid finite elements, with an error estimate from two solutions.

Why solid elements for sheet, and how the settings were found: docs/decisions, record 0003.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from modewright.errors import SolveError
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

__all__ = ["ACCURACIES", "REVISION", "Accuracy", "body_mass_kg", "solve_modes"]

Accuracy = Literal["draft", "normal", "fine"]

# Raised whenever the same body would come out differently: kept modes of older code are not read.
REVISION = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """One discretisation.

    ``orders`` are those in the plane and through the thickness. ``edge_share`` is the largest side
    of a triangle as a share of √(area/modes), which is about a third of the bending wavelength of
    the highest mode; ``corner_share`` the side at singular corners as a share of that. Of the
    difference to the step before, ``error_share`` is reported as the error.
    """

    orders: tuple[int, int]
    edge_share: float
    corner_share: float
    error_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Setting:
    """Steps to take, at least two, until the error of the first ten modes is as small as wanted.

    ``floor_cents`` is added to every error for what the steps have in common: the order through the
    thickness and the polygons that stand for arcs, which deviate by ``sagitta_share`` of ten
    thicknesses. ``has_layer`` asks for thin triangles along the outline.
    """

    steps: tuple[_Step, ...]
    wanted_cents: float
    floor_cents: float
    sagitta_share: float
    has_layer: bool


def _steps(corner_share: float, *steps: tuple[tuple[int, int], float, float]) -> tuple[_Step, ...]:
    return tuple(
        _Step(orders=orders, edge_share=edge, corner_share=corner_share, error_share=share)
        for orders, edge, share in steps
    )


ACCURACIES: dict[Accuracy, _Setting] = {
    "draft": _Setting(
        steps=_steps(0.5, ((2, 2), 1.2, 0.0), ((3, 2), 1.2, 0.35), ((4, 2), 0.8, 0.35)),
        wanted_cents=150.0, floor_cents=10.0, sagitta_share=0.02, has_layer=False,
    ),
    "normal": _Setting(
        steps=_steps(
            0.3, ((2, 2), 0.85, 0.0), ((3, 3), 0.85, 0.15), ((4, 3), 0.85, 0.2), ((4, 3), 0.5, 0.5)
        ),
        wanted_cents=10.0, floor_cents=1.5, sagitta_share=0.004, has_layer=True,
    ),
    "fine": _Setting(
        steps=_steps(
            0.1, ((3, 3), 0.7, 0.0), ((4, 4), 0.7, 0.3), ((5, 4), 0.7, 0.3), ((5, 4), 0.45, 0.5)
        ),
        wanted_cents=1.5, floor_cents=0.3, sagitta_share=0.0015, has_layer=True,
    ),
}  # fmt: skip

_JUDGED_MODES = 10
_MOST_MODES = 1000
_LAYER_SHARE = 3.0
_FEW_MODES = 8
_STEP_SHARE = 2.0
_LEAST_STEP_SHARE = 0.25
_SAME_M = 1e-9
_LARGE = 0.7


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
        How many elastic modes, 1 to 1000.
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
        If the modes cannot be found, or are too many.
    """
    tell: Callable[[str], None] = progress if progress is not None else _silent
    setting = ACCURACIES[accuracy]
    if not 1 <= count <= _MOST_MODES:
        raise SolveError(
            f"modes: expected 1 to {_MOST_MODES}, got {count}.",
            hint="Ask for the modes that can be heard; a small reed has some tens.",
        )
    first, *others = setting.steps
    tell(f"solution 1 ({accuracy})")
    found = _solve(blank, material, setting, first, count, before=None)
    error_cents = np.full(count, np.inf)
    for number, step in enumerate(others, 2):
        if error_cents[:_JUDGED_MODES].max() <= setting.wanted_cents:
            break
        tell(f"solution {number} ({accuracy})")
        before, found = found, _solve(blank, material, setting, step, count, before=found)
        gap_cents = np.abs(600 * np.log2(before.omega2 / found.omega2))
        error_cents = step.error_share * gap_cents + _floor_cents(setting, found.body)
    tell("reading shapes")
    return _describe(found, error_cents, blank, material, accuracy)


def _floor_cents(setting: _Setting, body: _Body) -> float:
    """Error that the steps have in common; twice as large where the thickness has steps."""
    return setting.floor_cents * (2 if body.is_stepped else 1)


def _silent(_: str) -> None:
    """Progress that nobody asked for."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Body:
    edge_share: float
    regions: PlaneRegions
    plane: PlaneMesh
    levels_m: NDArray[np.float64]

    @property
    def is_stepped(self) -> bool:
        return len(self.regions.faces_m) > 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solution:
    body: _Body
    system: ElasticSystem
    omega2: NDArray[np.float64]
    shapes: NDArray[np.float64]


def _describe(
    found: _Solution,
    error_cents: NDArray[np.float64],
    blank: Blank,
    material: IsotropicSolid,
    accuracy: str,
) -> Modes:
    shapes = sheet_shapes(found.system, found.shapes)
    regions = found.body.regions
    return Modes(
        freq_hz=np.sqrt(found.omega2) / (2 * np.pi),
        error_cents=error_cents,
        labels=label_modes(shapes, regions, is_held=blank.hold is not None),
        shapes=shapes,
        bending=bending_strain(found.system, found.shapes, found.omega2),
        body_mass_kg=body_mass_kg(regions, blank, material),
        source=f"solid elements, {accuracy}",
    )


def _with_definite_sign(shapes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Make the first of the large unknowns of each mode positive: nothing may depend on the sign.

    The very largest would not do: in antisymmetric modes round-off decides which one that is.
    """
    flat = shapes.reshape(-1, shapes.shape[-1])
    first = (np.abs(flat) > _LARGE * np.abs(flat).max(axis=0)).argmax(axis=0)
    found = np.take_along_axis(flat, first[None, :], axis=0)[0]
    return shapes * np.where(found < 0, -1.0, 1.0)


def _discretise(blank: Blank, setting: _Setting, step: _Step, count: int) -> _Body:
    size_m = float(np.ptp(blank.outline.outer.vertices_m, axis=0).max())
    regions = cut_into_regions(blank, setting.sagitta_share * min(size_m, 10 * blank.thickness_m))
    edge_m = step.edge_share * float(np.sqrt(regions.area_m2 / max(count, _FEW_MODES)))
    sizes = MeshSizes(
        edge_m=edge_m,
        corner_edge_m=step.corner_share * edge_m,
        step_edge_m=max(_STEP_SHARE * blank.thickness_m, _LEAST_STEP_SHARE * edge_m),
        layer_m=blank.thickness_m if setting.has_layer else None,
    )
    plane = mesh_plane(regions, sizes)
    levels_m = layer_levels(regions.faces_m, _LAYER_SHARE * edge_m)
    return _Body(edge_share=step.edge_share, regions=regions, plane=plane, levels_m=levels_m)


def _is_mirrored(blank: Blank, regions: PlaneRegions) -> bool:
    """Whether the sheet, without its masses, is its own mirror image in its middle plane."""
    off_middle = [abs(r.bottom_m + r.top_m - blank.thickness_m) for r in regions.regions]
    return max(off_middle) < _SAME_M


def body_mass_kg(regions: PlaneRegions, blank: Blank, material: IsotropicSolid) -> float:
    """Mass of the sheet and of what is attached to it. [kg]"""
    volume = sum(r.polygon.area * (r.top_m - r.bottom_m) for r in regions.regions)
    return material.density_kg_per_m3 * volume + sum(mass.mass_kg for mass in blank.masses)


def _reference_rad2_s2(blank: Blank, material: IsotropicSolid, regions: PlaneRegions) -> float:
    """Square of about the lowest bending frequency of a free plate of this area.

    Weyl's estimate counts one mode per 4π/(area) of squared wavenumber.
    """
    bending = material.plate_modulus_pa * blank.thickness_m**2 / (12 * material.density_kg_per_m3)
    return bending * (4 * np.pi / regions.area_m2) ** 2


def _solve(
    blank: Blank,
    material: IsotropicSolid,
    setting: _Setting,
    step: _Step,
    count: int,
    *,
    before: _Solution | None,
) -> _Solution:
    if before is not None and before.body.edge_share == step.edge_share:
        body = before.body
    else:
        body = _discretise(blank, setting, step, count)
    order, through = step.orders
    # Thinned parts bring layers of their own, for which a lower order does.
    through = max(2, through - 1) if body.is_stepped else through
    is_mirrored = _is_mirrored(blank, body.regions)
    column = Column(levels_m=body.levels_m, order=through, is_mirrored=is_mirrored)
    free = assemble(body.plane, body.regions, material, column, order)
    system = hold_body(free, body.plane, body.regions, blank.hold)
    added = mass_factor(system, body.plane, body.regions, blank.masses)
    shift = 0.0 if blank.hold is not None else _reference_rad2_s2(blank, material, body.regions)
    omega2, shapes = lowest_modes(system, added, count, shift)
    signed = _with_definite_sign(shapes)
    return _Solution(body=body, system=system, omega2=omega2, shapes=signed)
