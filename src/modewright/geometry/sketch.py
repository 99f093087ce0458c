"""What a family makes of its parameters: an outline with its natural root and named places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, Protocol

import numpy as np

from modewright.checks import check_shape, frozen_array
from modewright.errors import GeometryError
from modewright.geometry.blank import Pocket

if TYPE_CHECKING:
    import pathlib

    from numpy.typing import NDArray

    from modewright.geometry.blank import NamedPoint, Outline
    from modewright.geometry.loop import Loop
    from modewright.geometry.relief import Relief
    from modewright.geometry.solid_shape import FaceChoice, SolidShape

__all__ = ["Family", "NamedArea", "Recess", "Sketch", "named_point_m"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedArea:
    """Area that a drawing gives a name: a pickup plate or a driver's face."""

    name: str
    loop: Loop


@dataclass(frozen=True, slots=True, kw_only=True)
class Recess:
    """Region from which a family takes metal off one face, whatever the stock.

    Parameters
    ----------
    loop : Loop
        Edge of the region.
    depth_m : float
        > 0. [m]
    side : {"top", "bottom"}
        Face from which it is taken.
    """

    loop: Loop
    depth_m: float
    side: Literal["top", "bottom"]

    def pocket(self, thickness_m: float) -> Pocket:
        """The region in stock of this thickness. [m]"""
        return Pocket(loop=self.loop, thickness_m=thickness_m - self.depth_m, side=self.side)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sketch:
    """Outline of a family before features and support.

    Parameters
    ----------
    outline : Outline
        Families with dimensions put the root edge at x = 0, the body towards +x, its middle on
        y = 0.
    root_edges_m : float array, shape (edges, 2, 2)
        Pieces of the outline that a plain clamp holds. [m]
    root_edge_bulge : float array, shape (edges,), optional
        Bulge of each; straight if left out. Only drawings have others.
    tip_edges_m : float array, shape (edges, 2, 2)
        Straight pieces at the far ends. [m]
    root_areas : tuple of Loop
        Areas that a plain clamp holds between its jaws; only drawings have them.
    named_points : tuple of NamedPoint
        At least one; the first is the reference point unless the design says otherwise.
    recesses : tuple of Recess
        Steps of thickness that belong to the family.
    solid : SolidShape or None
        A body that is more than a blank; the outline is its plan.
    root_faces : FaceChoice or None
        Faces of such a body that a plain clamp holds.
    relief : Relief or None
        What makes the thickness vary smoothly along x.
    plates, driver_areas : tuple of NamedArea
        Pickup plates and driver faces that a drawing brings along.
    notes : tuple of str
        Sentences to be shown as warnings, such as an assumed unit or what a drawing holds beyond
        the layers that are read.
    """

    outline: Outline
    root_edges_m: NDArray[np.float64]
    tip_edges_m: NDArray[np.float64]
    root_edge_bulge: NDArray[np.float64] | None = None
    root_areas: tuple[Loop, ...] = ()
    named_points: tuple[NamedPoint, ...]
    recesses: tuple[Recess, ...] = ()
    solid: SolidShape | None = None
    root_faces: FaceChoice | None = None
    relief: Relief | None = None
    plates: tuple[NamedArea, ...] = ()
    driver_areas: tuple[NamedArea, ...] = ()
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in ("root_edges_m", "tip_edges_m"):
            edges = np.asarray(getattr(self, name), dtype=float).reshape(-1, 2, 2)
            check_shape(edges, name, (None, 2, 2))
            object.__setattr__(self, name, frozen_array(edges))


class Family(Protocol):
    """A section of the design file from which an outline can be drawn."""

    kind: ClassVar[str]

    def sketch(self, folder: pathlib.Path) -> Sketch:
        """Draw the outline.

        Parameters
        ----------
        folder : path
            Folder of the design file, from which names of other files count.

        Raises
        ------
        GeometryError
            If no body comes of it.
        """
        ...


def named_point_m(points: tuple[NamedPoint, ...], name: str, what: str) -> tuple[float, float]:
    """Place of this name. [m]

    Parameters
    ----------
    points : tuple of NamedPoint
    name : str
    what : str
        What asks for it, for the message.

    Raises
    ------
    GeometryError
        If there is none; lists those there are.
    """
    for point in points:
        if point.name == name:
            return point.point_m
    names = ", ".join(f'"{point.name}"' for point in points)
    raise GeometryError(f'{what}: expected one of {names}, got "{name}".')
