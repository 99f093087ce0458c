"""One solution of a body: its discretisation, its matrices and its lowest modes.

`modewright.modes.solid` takes several such steps until the error is small enough; what needs the
matrices of the last one (derivatives, other bodies on the same mesh) gets them from here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.geometry.clearances import ligament_m
from modewright.modes.assembly import assemble_body
from modewright.modes.attached_mass import mass_factor
from modewright.modes.column import Column, layer_levels
from modewright.modes.eigen import lowest_modes
from modewright.modes.holds import hold_body
from modewright.modes.one_thread import on_one_thread
from modewright.modes.plane_mesh import MeshSizes, mesh_plane
from modewright.modes.regions import cut_into_regions
from modewright.modes.strain_energy import accurate_modes
from modewright.modes.subspace import ROUGH
from modewright.modes.transfer import transferred

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.plane_mesh import PlaneMesh
    from modewright.modes.regions import PlaneRegions

__all__ = [
    "DOZEN",
    "EXACT",
    "MOST_ON_ONE_MESH",
    "Discretisation",
    "Solution",
    "Step",
    "solve_discretised",
    "solve_step",
]

_LAYER_SHARE = 3.0
# Undercut bars are thick: triangles no layer divides would be as wide as the bar.
_RELIEF_SHARE = 0.6
# Up to so many modes the mesh is that for a dozen, which then do not depend on the number.
DOZEN = 12
MOST_ON_ONE_MESH = 36
_STEP_SHARE = 2.0
_LEAST_STEP_SHARE = 0.25
EXACT = 1e-8
"""Relative error of shapes whose derivatives are wanted."""

# Stress at a corner goes like r^(a-1), the error of ω² from an element of side h like h^2a: a = 1/2
# at ends of holds within a side, 0.54 at square notches, about 3/4 where a hold ends at a square
# corner (Williams, J. Appl. Mech. 19 (1952) 526; from memory), whose share is small besides.
_MILD = 1 / 2
_THICK = 0.5
# Sides of so many thicknesses, about: the matrix's round-off begins to be 1e-3 cents.
_THIN = 150
_THICK_CORNERS = 0.1
_SAME_M = 1e-9
# Polygons keep off the far side of narrow metal beside a hole by a share of so many times its
# width, but no metal counts as narrower than this share of the size.
_LIGAMENTS, _LEAST_OF_SIZE = 2.0, 1e-3
_LARGE = 0.7


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """How finely to discretise a body.

    Parameters
    ----------
    orders : tuple of two ints
        Polynomial orders in the plane and through the thickness.
    edge_share : float
        Largest side of a triangle as a share of √(area/12), which is about a third of the bending
        wavelength of the twelfth mode; less if many modes are asked for.
    corner_share : float
        Side at singular corners as a share of that.
    sagitta_share : float
        How far the polygons that stand for arcs deviate, as a share of ten thicknesses, of an
        eighth of the size of stout bodies, or of the metal beside a hole where that is narrow.
    has_layer : bool
        Whether there are thin triangles along the outline.
    """

    orders: tuple[int, int]
    edge_share: float
    corner_share: float
    sagitta_share: float
    has_layer: bool

    def sagitta_m(self, blank: Blank) -> float:
        """Largest distance between an arc and the chords that stand for it. [m]"""
        size_m = float(np.ptp(blank.outline.outer.vertices_m, axis=0).max())
        least_m = min(size_m / 8, 10 * blank.thickness_m, _LIGAMENTS * ligament_m(blank.outline))
        return self.sagitta_share * max(least_m, _LEAST_OF_SIZE * size_m)

    def shares_mesh(self, other: Step) -> bool:
        """Whether both steps mesh a body alike and differ in their orders only."""
        return self == replace(other, orders=self.orders)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Discretisation:
    """The mesh of a body.

    Parameters
    ----------
    regions : PlaneRegions
    plane : PlaneMesh
    levels_m : float array, shape (levels,)
        Levels of the column of layers through the thickness. [m]
    is_thick : bool
        Whether triangles are hardly larger than the sheet is thick.
    """

    regions: PlaneRegions
    plane: PlaneMesh
    levels_m: NDArray[np.float64]
    is_thick: bool

    @property
    def is_stepped(self) -> bool:
        """Whether the sheet has more than one thickness."""
        return len(self.regions.faces_m) > 2

    @property
    def has_held_area(self) -> bool:
        """Whether the faces of the sheet are held somewhere."""
        return any(region.is_held for region in self.regions.regions)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solution:
    """The lowest modes of a discretised body.

    Parameters
    ----------
    blank : Blank
    material : IsotropicSolid
    step : Step
    body : Discretisation
    system : ElasticSystem
        With its hold.
    added : float array, shape (nodes, 3, functions, 6 * masses)
        Factor F of the added mass matrix F Fᵀ. [sqrt(kg)]
    omega2 : float array, shape (modes,)
        Squared angular frequencies, rising. [rad²/s²]
    shapes : float array, shape (nodes, 3, functions, modes)
        Of unit modal mass. [1/sqrt(kg)]
    error_cents : float array, shape (modes,)
        Estimate of the discretisation error; 0 where there is none, of a single solution. [cents]

    Notes
    -----
    `solve_step` gives a few modes more than asked for, as a start for the next; these are less
    accurate. `first` leaves them away.
    """

    blank: Blank
    material: IsotropicSolid
    step: Step
    body: Discretisation
    system: ElasticSystem
    added: NDArray[np.float64]
    omega2: NDArray[np.float64]
    shapes: NDArray[np.float64]
    error_cents: NDArray[np.float64]

    def first(self, count: int) -> Solution:
        """The same with the lowest modes only."""
        return replace(
            self,
            omega2=self.omega2[:count],
            shapes=self.shapes[..., :count],
            error_cents=self.error_cents[:count],
        )


def solve_step(
    blank: Blank,
    material: IsotropicSolid,
    step: Step,
    count: int,
    *,
    before: Solution | None,
    shape_error: float = EXACT,
) -> Solution:
    """Solve a body once.

    Parameters
    ----------
    blank : Blank
    material : IsotropicSolid
    step : Step
    count : int
        How many elastic modes; there may be a few more.
    before : Solution or None
        Of the same body, one order lower: its mesh is taken if the step wants the same, and its
        modes hasten the search. The first of several solutions only starts the next: its shapes
        are `ROUGH`, its ω² is still good to 1e-6.
    shape_error : float, default EXACT
        Relative error of the shapes, about; that of ω² is the square.

    Returns
    -------
    Solution

    Raises
    ------
    GeometryError
        If the outline cannot be meshed.
    SolveError
        If the modes cannot be found.
    """
    if before is not None and before.step.shares_mesh(step):
        body = before.body
    else:
        body = _discretise(blank, step, count)
    start = None
    if before is not None and before.body is body:
        start = before
    wanted_error = ROUGH if before is None else shape_error
    return _solved(body, blank, material, step, count, start, wanted_error)


@on_one_thread
def solve_discretised(
    body: Discretisation, blank: Blank, material: IsotropicSolid, step: Step, count: int
) -> Solution:
    """Solve a body on a given mesh.

    Parameters
    ----------
    body : Discretisation
        Of the blank.
    blank : Blank
    material : IsotropicSolid
    step : Step
        Of which only the orders count.
    count : int
        How many elastic modes.

    Returns
    -------
    Solution

    Raises
    ------
    SolveError
        If the modes cannot be found.
    """
    return _solved(body, blank, material, step, count, None, EXACT).first(count)


def _solved(
    body: Discretisation,
    blank: Blank,
    material: IsotropicSolid,
    step: Step,
    count: int,
    before: Solution | None,
    shape_error: float,
) -> Solution:
    order, through = step.orders
    # Where the sheet is thick there are few triangles, and motion varies more through it.
    through += body.is_thick and not body.is_stepped
    # Between jaws the strong motion is sideways and odd: an even order would add nothing to it.
    through += body.has_held_area and through > 2 and through % 2 == 0
    is_mirrored = _is_mirrored(blank, body.regions)
    column = Column(levels_m=body.levels_m, order=through, is_mirrored=is_mirrored)
    free = assemble_body(body.plane, body.regions, blank, material, column, order)
    system = hold_body(free, body.plane, body.regions, blank.hold)
    added = mass_factor(system, body.plane, body.regions, blank.masses)
    shift = 0.0 if blank.hold is not None else _reference_rad2_s2(blank, material, body.regions)
    start = None
    if before is not None:
        start = transferred(before.shapes, before.system, system)
    omega2, shapes = lowest_modes(system, added, count, shift, start, shape_error=shape_error)
    if system.is_flat and body.regions.area_m2 > (_THIN * blank.thickness_m) ** 2:
        omega2, shapes = accurate_modes(system, material, omega2, shapes)
    return Solution(
        blank=blank,
        material=material,
        step=step,
        body=body,
        system=system,
        added=added,
        omega2=omega2,
        shapes=_with_definite_sign(shapes),
        error_cents=np.zeros(len(omega2)),
    )


def _with_definite_sign(shapes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Make the first of the large unknowns of each mode positive: nothing may depend on the sign.

    The very largest would not do: in antisymmetric modes round-off decides which one that is.
    """
    flat = shapes.reshape(-1, shapes.shape[-1])
    first = (np.abs(flat) > _LARGE * np.abs(flat).max(axis=0)).argmax(axis=0)
    found = np.take_along_axis(flat, first[None, :], axis=0)[0]
    return shapes * np.where(found < 0, -1.0, 1.0)


def _discretise(blank: Blank, step: Step, count: int) -> Discretisation:
    regions = cut_into_regions(blank, step.sagitta_m(blank))
    edge_m = step.edge_share * float(np.sqrt(regions.area_m2 / _meshed_modes(count)))
    edge_m *= _RELIEF_SHARE if blank.relief is not None else 1.0
    # Where the sheet is thick there are few triangles, and modes in its plane feel every corner.
    is_thick = blank.thickness_m > _THICK * edge_m
    corner_share = step.corner_share * (_THICK_CORNERS if is_thick else 1.0)
    sizes = MeshSizes(
        edge_m=edge_m,
        corner_edge_m=corner_share * edge_m,
        mild_corner_edge_m=corner_share**_MILD * edge_m,
        step_edge_m=max(_STEP_SHARE * blank.thickness_m, _LEAST_STEP_SHARE * edge_m),
        layer_m=blank.thickness_m if step.has_layer else None,
    )
    plane = mesh_plane(regions, sizes)
    levels_m = layer_levels(regions.faces_m, _LAYER_SHARE * edge_m)
    return Discretisation(regions=regions, plane=plane, levels_m=levels_m, is_thick=is_thick)


def _meshed_modes(count: int) -> float:
    """Number of modes for which the mesh is made."""
    return DOZEN * max(1.0, count / MOST_ON_ONE_MESH)


def _is_mirrored(blank: Blank, regions: PlaneRegions) -> bool:
    """Whether the sheet, without its masses, is its own mirror image in its middle plane."""
    if blank.bends or blank.relief is not None:
        return False
    off_middle = [abs(r.bottom_m + r.top_m - blank.thickness_m) for r in regions.regions]
    return max(off_middle) < _SAME_M


def _reference_rad2_s2(blank: Blank, material: IsotropicSolid, regions: PlaneRegions) -> float:
    """Square of about the lowest bending frequency of a free plate of this area.

    Weyl's estimate counts one mode per 4π/(area) of squared wavenumber.
    """
    bending = material.plate_modulus_pa * blank.thickness_m**2 / (12 * material.density_kg_per_m3)
    return bending * (4 * np.pi / regions.area_m2) ** 2
