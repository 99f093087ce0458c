"""A note as its base feels it: momentum of its modes, inertia of the rigid body."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from modewright.checks import check_shape, frozen_array
from modewright.geometry.measures import centroid_m
from modewright.instrument.coupling import NoteMotion
from modewright.losses.surface import SAGITTA_M, surface_motion
from modewright.modes.regions import sheet_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import AttachedMass, Blank
    from modewright.modes.basis import ModalBasis, ModeShapes

__all__ = ["BodyMotion", "body_motion", "note_motion"]

_CELLS = 1200
# Points across a footprint.
_ACROSS = 9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyMotion:
    """A body as rigid bits: cells of its sheet, then what is fixed to it.

    Parameters
    ----------
    places_m : float array, shape (bits, 3)
        Centres of mass. [m]
    mass_kg : float array, shape (bits,)
        [kg]
    inertia_kg_m2 : float array, shape (bits, 3)
        About the own centre, axes x, y, z. [kg m²]
    motion : float array, shape (bits, 3, modes)
        Of the centres, mass-normalised. [1/sqrt(kg)]
    turning : float array, shape (bits, 3, modes)
        Rotation about x, y, z. [1/(m sqrt(kg))]
    """

    places_m: NDArray[np.float64]
    mass_kg: NDArray[np.float64]
    inertia_kg_m2: NDArray[np.float64]
    motion: NDArray[np.float64]
    turning: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("places_m", "mass_kg", "inertia_kg_m2", "motion", "turning"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        count = len(self.mass_kg)
        check_shape(self.places_m, "places_m", (count, 3))
        check_shape(self.inertia_kg_m2, "inertia_kg_m2", (count, 3))
        check_shape(self.motion, "motion", (count, 3, None))
        check_shape(self.turning, "turning", self.motion.shape)

    @property
    def norm(self) -> NDArray[np.float64]:
        """Twice the kinetic energy of each mode at unit velocity, shape (modes,): 1 but for air."""
        return np.einsum("p,pcm->m", self.mass_kg, self.motion**2) + np.einsum(
            "pc,pcm->m", self.inertia_kg_m2, self.turning**2
        )

    def momentum(self, root_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Momentum along z and angular momentum about x and y at a root, shape (modes, 3)."""
        carried = self.mass_kg[:, None, None] * self.motion
        whole = np.einsum("pck,pcm->mk", self._rigid(root_m), carried)
        whole[:, 1:] += np.einsum("pc,pcm->mc", self.inertia_kg_m2, self.turning)[:, :2]
        return whole

    def inertia(self, root_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Inertia of the rigid body for the same three motions, shape (3, 3)."""
        rigid = self._rigid(root_m)
        own = np.diag([0.0, *self.inertia_kg_m2.sum(axis=0)[:2]])
        return np.einsum("p,pck,pcl->kl", self.mass_kg, rigid, rigid) + own

    def _rigid(self, root_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Motion of the centres as the root rises, turns about x, turns about y: (bits, 3, 3)."""
        x, y, z = (self.places_m - root_m).T
        still, one = np.zeros_like(x), np.ones_like(x)
        rise, about_x, about_y = (still, still, one), (still, -z, y), (z, still, -x)
        return np.moveaxis(np.array([rise, about_x, about_y]), -1, 0).swapaxes(1, 2)


def note_motion(name: str, blank: Blank, basis: ModalBasis, density_kg_per_m3: float) -> NoteMotion:
    """Momentum and inertia of a note about the middle of where it is held.

    Parameters
    ----------
    name : str
    blank : Blank
        Of sheet; a bent one counts as if it were still flat.
    basis : ModalBasis
        Of that blank.
    density_kg_per_m3 : float
        [kg/m³]

    Returns
    -------
    NoteMotion
        A body that hangs free moves no base: its momentum and inertia are 0.
    """
    momentum, inertia = np.zeros((len(basis.freq_hz), 3)), np.zeros((3, 3))
    root_m = _root_m(blank)
    if root_m is not None:
        body = body_motion(blank, basis.shapes, density_kg_per_m3)
        momentum, inertia = body.momentum(root_m), body.inertia(root_m)
    return NoteMotion(
        name=name,
        freq_hz=basis.freq_hz,
        q=basis.q,
        labels=basis.labels,
        momentum=momentum,
        inertia=inertia,
    )


def body_motion(
    blank: Blank, shapes: ModeShapes, density_kg_per_m3: float, *, cells: int = _CELLS
) -> BodyMotion:
    """Take a body apart into rigid bits.

    Parameters
    ----------
    blank : Blank
        Of sheet.
    shapes : ModeShapes
        Mass-normalised.
    density_kg_per_m3 : float
        Of the sheet. [kg/m³]
    cells : int
        Number of cells of the sheet wanted.

    Returns
    -------
    BodyMotion

    Notes
    -----
    A cell turns as a piece of a plate that stays straight through its thickness. A mass moves with
    its footprint, whose mean turning is fitted to it by least squares.
    """
    sheet = surface_motion(replace(blank, masses=()), shapes, density_kg_per_m3, cells=cells)
    flat = sheet.mass_kg * sheet.thickness_m**2 / 12
    metal = BodyMotion(
        places_m=np.column_stack([sheet.points_m, blank.faces_m(sheet.points_m).mean(axis=0)]),
        mass_kg=sheet.mass_kg,
        inertia_kg_m2=np.stack([flat, flat, np.zeros_like(flat)], axis=-1),
        motion=sheet.motion,
        turning=_turning(shapes, sheet.points_m),
    )
    bits = [metal, *(_load(blank, mass, shapes) for mass in blank.masses)]
    return BodyMotion(
        places_m=np.concatenate([bit.places_m for bit in bits]),
        mass_kg=np.concatenate([bit.mass_kg for bit in bits]),
        inertia_kg_m2=np.concatenate([bit.inertia_kg_m2 for bit in bits]),
        motion=np.concatenate([bit.motion for bit in bits]),
        turning=np.concatenate([bit.turning for bit in bits]),
    )


def _turning(shapes: ModeShapes, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rotation of the sheet about x, y and z at places, shape (points, 3, modes)."""
    slope = shapes.middle.slope(points_m)
    about_z = (slope[:, 1, 0] - slope[:, 0, 1]) / 2
    return np.stack([slope[:, 2, 1], -slope[:, 2, 0], about_z], axis=1)


def _load(blank: Blank, mass: AttachedMass, shapes: ModeShapes) -> BodyMotion:
    """A mass on its footprint, as a single bit."""
    centre_m = np.array(mass.centre_m)
    points_m = _footprint_m(blank, mass)
    away = points_m - centre_m
    motion = shapes.middle.displacement(points_m)
    # w = rise + y θx - x θy over the footprint.
    tilt = np.column_stack([np.ones(len(away)), away[:, 1], -away[:, 0]])
    rise, about_x, about_y = np.linalg.lstsq(tilt, motion[:, 2])[0]
    along, across = motion[:, :2].mean(axis=0)
    bottom_m, top_m = blank.faces_m(centre_m[None])[:, 0]
    height_m = top_m + mass.height_m if mass.side == "top" else bottom_m - mass.height_m
    above_m = height_m - (bottom_m + top_m) / 2
    about_z = _turning(shapes, points_m)[:, 2].mean(axis=0)
    return BodyMotion(
        places_m=np.array([[*centre_m, height_m]]),
        mass_kg=np.array([mass.mass_kg]),
        inertia_kg_m2=np.array([mass.inertia_kg_m2]),
        motion=np.array([[along + above_m * about_y, across - above_m * about_x, rise]]),
        turning=np.array([[about_x, about_y, about_z]]),
    )


def _footprint_m(blank: Blank, mass: AttachedMass) -> NDArray[np.float64]:
    """Places all over the part of a footprint that lies on the sheet, shape (points, 2). [m]"""
    steps = (np.arange(_ACROSS) + 0.5) * 2 / _ACROSS - 1
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    inside = grid[np.hypot(*grid.T) < 1]
    points_m = np.array(mass.centre_m) + mass.footprint_radius_m * inside
    sheet = sheet_polygon(blank, SAGITTA_M)
    return points_m[shapely.contains_xy(sheet, points_m[:, 0], points_m[:, 1])]


def _root_m(blank: Blank) -> NDArray[np.float64] | None:
    """Middle of all that is held, in the middle plane; None for a body that hangs free."""
    hold = blank.hold
    if hold is None:
        return None
    middles = [edge.mean(axis=0) for edge in hold.edges_m]
    middles += [centroid_m(area) for area in hold.areas]
    middle = np.mean(middles, axis=0)
    return np.array([*middle, float(blank.faces_m(middle[None]).mean())])
