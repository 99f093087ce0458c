"""The body as the metal worker knows it: a sheet blank with pockets, attached masses and a hold.

Axes: x and y lie in the sheet, z points from the lower face (z = 0, where pickups listen) to the
upper face (z = thickness). Families and imported drawings end here; meshes begin here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from modewright.checks import check_shape, frozen_array
from modewright.geometry.arcs import polyline

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.bends import Bend
    from modewright.geometry.loop import Loop
    from modewright.geometry.relief import Relief
    from modewright.geometry.solid_shape import FaceChoice, SolidShape

__all__ = ["AttachedMass", "Blank", "Hold", "NamedPoint", "Outline", "Pocket", "RestLine"]

RestLine: TypeAlias = tuple[tuple[float, float], tuple[float, float]]
"""Line across the body, from (x, y) to (x, y). [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """Outer loop of a blank and the holes in it. Loops do not cross or touch."""

    outer: Loop
    holes: tuple[Loop, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pocket:
    """Region of reduced thickness.

    Parameters
    ----------
    loop : Loop
        Edge of the region; it may reach over the outline, where it is cut off.
    thickness_m : float
        What remains of the sheet, > 0 and less than the sheet. [m]
    side : {"top", "bottom"}
        Face from which the material is taken.
    """

    loop: Loop
    thickness_m: float
    side: Literal["top", "bottom"]


@dataclass(frozen=True, slots=True, kw_only=True)
class AttachedMass:
    """Rigid mass fixed to a round footprint on one face.

    Parameters
    ----------
    centre_m : tuple of two floats
        Centre of the footprint. [m]
    footprint_radius_m : float
        Radius of the round area that carries it, > 0. [m]
    mass_kg : float
        > 0. [kg]
    height_m : float
        Distance of its centre of mass from the face it sits on, >= 0. [m]
    inertia_kg_m2 : tuple of three floats
        Moments of inertia about its own centre of mass, axes x, y, z. [kg m²]
    side : {"top", "bottom"}
        Face that it sits on.
    """

    centre_m: tuple[float, float]
    footprint_radius_m: float
    mass_kg: float
    height_m: float
    inertia_kg_m2: tuple[float, float, float]
    side: Literal["top", "bottom"] = "top"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hold:
    """Where and how firmly the blank is held.

    Parameters
    ----------
    edges_m : float array, shape (edges, 2, 2)
        Pieces of the outline (start, end) whose side face is held. [m]
    edge_bulge : float array, shape (edges,), optional
        Bulge of each; straight if left out.
    areas : tuple of Loop
        Areas held between jaws: both faces of the sheet inside each loop.
    faces : FaceChoice or None
        Held faces of a solid.
    stiffness_n_per_m3 : float or None
        Normal stiffness of the holding face per area; None means perfectly rigid. [N/m³]
    shear_ratio : float
        Tangential over normal stiffness of an elastic hold.
    loss_factor : float or None
        Share of the energy in the hold that it takes, over 2π, per period; None for a hold of
        metal, whose loss is that of the block behind it.
    """

    edges_m: NDArray[np.float64]
    areas: tuple[Loop, ...] = ()
    faces: FaceChoice | None = None
    stiffness_n_per_m3: float | None = None
    shear_ratio: float = 1.0
    loss_factor: float | None = None
    edge_bulge: NDArray[np.float64] | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "edges_m", frozen_array(self.edges_m).reshape(-1, 2, 2))
        check_shape(self.edges_m, "edges_m", (None, 2, 2))
        if self.edge_bulge is not None:
            object.__setattr__(self, "edge_bulge", frozen_array(self.edge_bulge))
            check_shape(self.edge_bulge, "edge_bulge", (len(self.edges_m),))

    @property
    def edge_curves_m(self) -> tuple[NDArray[np.float64], ...]:
        """Corners along each held edge; half a degree apart on one that is round. [m]"""
        bulges = np.zeros(len(self.edges_m)) if self.edge_bulge is None else self.edge_bulge
        return tuple(
            polyline(start, end, float(bulge))
            for (start, end), bulge in zip(self.edges_m, bulges, strict=True)
        )

    @property
    def straight_edges(self) -> tuple[int, ...]:
        """Numbers of the edges that are straight."""
        return tuple(number for number, curve in enumerate(self.edge_curves_m) if len(curve) == 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedPoint:
    """A place on the sheet that the family gives a name, such as ``tip`` or ``arm 2 tip``. [m]"""

    name: str
    point_m: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Blank:
    """Everything about the shape of a flat body; material comes separately.

    Parameters
    ----------
    outline : Outline
        The cut contour.
    thickness_m : float
        Thickness of the sheet, > 0. [m]
    pockets : tuple of Pocket
        Thinned regions; they do not overlap.
    bends : tuple of Bend
        Straight bends; all places are those of the flat blank. A bent blank has one thickness.
    solid : SolidShape or None
        A body that is more than a blank, of which the outline is the plan seen from below.
    relief : Relief or None
        What makes the thickness vary smoothly; a blank with one has no pockets.
    masses : tuple of AttachedMass
        Rigid masses fixed to the sheet.
    hold : Hold or None
        None for a free body.
    named_points : tuple of NamedPoint
        At least one; the first is the default reference point for modal mass and level.
    rests_m : tuple of RestLine
        Where it lies on supports, for the drawing; what they do to the motion stands in the hold.
        [m]
    """

    outline: Outline
    thickness_m: float
    pockets: tuple[Pocket, ...] = ()
    bends: tuple[Bend, ...] = ()
    solid: SolidShape | None = None
    relief: Relief | None = None
    masses: tuple[AttachedMass, ...] = ()
    hold: Hold | None = None
    named_points: tuple[NamedPoint, ...]
    rests_m: tuple[RestLine, ...] = ()

    def faces_m(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Heights of the lower and the upper face at places of the plane, pockets left out.

        Parameters
        ----------
        points_m : float array, shape (points, 2)
            [m]

        Returns
        -------
        float array, shape (2, points)
            [m]
        """
        if self.solid is not None:
            return self.solid.faces_m(points_m)
        if self.relief is None:
            bottom = np.zeros(len(points_m))
            return np.stack([bottom, bottom + self.thickness_m])
        return np.stack(self.relief.faces_m(points_m[:, 0], self.thickness_m))

    def with_masses(self, added: tuple[AttachedMass, ...]) -> Blank:
        """The same blank with more masses fixed to it."""
        return replace(self, masses=(*self.masses, *added))
