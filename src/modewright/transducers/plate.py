"""Flat areas under or over the sheet: their description, outline and integration points."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np
from shapely import (
    Polygon,
    constrained_delaunay_triangles,
    get_coordinates,
    get_parts,
    is_valid_reason,
)

from modewright.checks import frozen_array
from modewright.errors import TransducerError
from modewright.geometry.flatten import flatten
from modewright.geometry.loop import Loop
from modewright.parameters import Fault, point, points, quantity, text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from modewright.geometry.blank import NamedPoint
    from modewright.geometry.sketch import NamedArea

__all__ = [
    "AreaPoints",
    "DiscPlate",
    "DrawnPlate",
    "Plate",
    "PolygonPlate",
    "RectanglePlate",
    "disc_points",
    "polygon_points",
]

_CENTRE_DOC = "Centre of the plate."
_AT_DOC = (
    'Named place of the resonator from which the centre counts, such as "arm 1 tip"; empty for the '
    "origin."
)
_DRAWN_SAGITTA_M = 5e-6
_GAUSS = 6
_RINGS = 12
_SPOKES = 32


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AreaPoints:
    """Places and weights with which a function is integrated over an area.

    Parameters
    ----------
    points_m : float array, shape (points, 2)
        Inside the area. [m]
    weight_m2 : float array, shape (points,)
        All above zero; their sum is the area. [m²]
    """

    points_m: NDArray[np.float64]
    weight_m2: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "points_m", frozen_array(self.points_m))
        object.__setattr__(self, "weight_m2", frozen_array(self.weight_m2))

    @property
    def area_m2(self) -> float:
        """Area. [m²]"""
        return float(self.weight_m2.sum())

    @property
    def centroid_m(self) -> NDArray[np.float64]:
        """Centroid. [m]"""
        return self.weight_m2 @ self.points_m / self.weight_m2.sum()


def polygon_points(outline: NDArray[np.float64] | Polygon) -> AreaPoints:
    """Integration points of a polygon.

    Parameters
    ----------
    outline : float array, shape (corners, 2), or Polygon
        Corners in order, either sense; a polygon may have holes. [m]

    Returns
    -------
    AreaPoints
        Exact for polynomials up to degree 10; each triangle of a constrained Delaunay
        triangulation is cut in four, because mode shapes may be smooth only piece by piece.

    Notes
    -----
    Gauss–Legendre points on the square collapsed onto each triangle: Stroud, Approximate
    Calculation of Multiple Integrals, 1971, sec. 2.4.
    """
    # Each piece is a closed ring of four places, the last being the first.
    polygon = outline if isinstance(outline, Polygon) else Polygon(outline)
    pieces = get_parts(constrained_delaunay_triangles(polygon))
    triangles = get_coordinates(pieces).reshape(-1, 4, 2)[:, :3]
    a, b, c = np.moveaxis(triangles, 1, 0)
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    quarters = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (bc, ca, ab)]
    parts = np.concatenate([np.stack(quarter, axis=1) for quarter in quarters])
    node, weight = np.polynomial.legendre.leggauss(_GAUSS)
    u, v = np.meshgrid((node + 1) / 2, (node + 1) / 2, indexing="ij")
    square = np.outer(weight, weight) / 4
    shares = np.stack([1 - u, u * (1 - v), u * v], axis=-1).reshape(-1, 3)
    jacobian = (square * u).ravel()
    side_1, side_2 = parts[:, 1] - parts[:, 0], parts[:, 2] - parts[:, 0]
    double_area = np.abs(side_1[:, 0] * side_2[:, 1] - side_1[:, 1] * side_2[:, 0])
    return AreaPoints(
        points_m=np.einsum("ns,tsc->tnc", shares, parts).reshape(-1, 2),
        weight_m2=np.outer(double_area, jacobian).ravel(),
    )


def disc_points(centre_m: tuple[float, float], radius_m: float) -> AreaPoints:
    """Integration points of a disc.

    Parameters
    ----------
    centre_m : tuple of two floats
        [m]
    radius_m : float
        > 0. [m]

    Returns
    -------
    AreaPoints
        Exact for polynomials up to degree 23: Gauss–Legendre in the squared radius, equal steps
        around.
    """
    node, weight = np.polynomial.legendre.leggauss(_RINGS)
    radius = radius_m * np.sqrt((node + 1) / 2)
    angle = 2 * np.pi * (np.arange(_SPOKES) + 0.5) / _SPOKES
    unit = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    ring_area = np.pi * radius_m**2 * weight / 2
    return AreaPoints(
        points_m=(np.asarray(centre_m) + radius[:, None, None] * unit).reshape(-1, 2),
        weight_m2=np.repeat(ring_area / _SPOKES, _SPOKES),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RectanglePlate:
    """Rectangular pickup plate."""

    kind: ClassVar[str] = "rectangle"

    centre_m: tuple[float, float] = point(_CENTRE_DOC)
    length_m: float = quantity(
        "m", "Side of the plate at the angle given.", show="mm", above=0.0, plausible=(1e-3, 0.3)
    )
    width_m: float = quantity(
        "m", "Other side of the plate.", show="mm", above=0.0, plausible=(1e-3, 0.3)
    )
    angle_rad: float = quantity(
        "rad", "Angle of the first side from the x axis.", default=0.0, show="deg"
    )
    at: str = text(_AT_DOC, default="")

    def standing(self, points: tuple[NamedPoint, ...]) -> RectanglePlate:
        """The plate with its centre counted from the origin.

        Raises
        ------
        TransducerError
            If no point bears the name that it counts from.
        """
        return replace(self, centre_m=_counted(self.at, self.centre_m, points), at="")

    @property
    def loop(self) -> Loop:
        """Outline of the plate."""
        along = np.array([np.cos(self.angle_rad), np.sin(self.angle_rad)]) * self.length_m / 2
        across = np.array([-np.sin(self.angle_rad), np.cos(self.angle_rad)]) * self.width_m / 2
        corners = [-along - across, along - across, along + across, -along + across]
        return Loop.polygon(np.asarray(self.centre_m) + np.array(corners))

    def area_points(self) -> AreaPoints:
        """Integration points."""
        return polygon_points(self.loop.vertices_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class PolygonPlate:
    """Pickup plate with any straight-sided outline."""

    kind: ClassVar[str] = "polygon"

    corners_m: tuple[tuple[float, float], ...] = points("Corners in order around the plate.")

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong with the corners."""
        if len(self.corners_m) < 3:
            yield Fault(
                key="corners", expected="at least three corners", got=str(len(self.corners_m))
            )
        elif not (shape := Polygon(self.corners_m)).is_valid or shape.area <= 0:
            yield Fault(
                key="corners",
                expected="a polygon that bounds an area",
                got=f"{is_valid_reason(shape)} (in m)",
                hint="List the corners once around the plate.",
            )

    @property
    def loop(self) -> Loop:
        """Outline of the plate."""
        return Loop.polygon(self.corners_m)

    def area_points(self) -> AreaPoints:
        """Integration points."""
        return polygon_points(self.loop.vertices_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscPlate:
    """Round pickup plate."""

    kind: ClassVar[str] = "disc"

    centre_m: tuple[float, float] = point(_CENTRE_DOC)
    diameter_m: float = quantity(
        "m", "Diameter of the plate.", show="mm", above=0.0, plausible=(1e-3, 0.3)
    )
    at: str = text(_AT_DOC, default="")

    def standing(self, points: tuple[NamedPoint, ...]) -> DiscPlate:
        """The plate with its centre counted from the origin; as for `RectanglePlate`."""
        return replace(self, centre_m=_counted(self.at, self.centre_m, points), at="")

    @property
    def loop(self) -> Loop:
        """Outline of the plate: two half circles."""
        x, y = self.centre_m
        radius = self.diameter_m / 2
        return Loop(vertices_m=np.array([[x - radius, y], [x + radius, y]]), bulge=np.ones(2))

    def area_points(self) -> AreaPoints:
        """Integration points."""
        return disc_points(self.centre_m, self.diameter_m / 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPlate:
    """Pickup plate from the drawing that the outline comes from."""

    kind: ClassVar[str] = "drawn"

    area: str = text(
        "Name of the closed area on an ELECTRODE layer; empty if the drawing has only one.",
        default="",
    )

    def placed(self, areas: tuple[NamedArea, ...]) -> PolygonPlate:
        """The plate with the corners that the drawing gives it.

        Parameters
        ----------
        areas : tuple of NamedArea
            Pickup plates of the drawing.

        Returns
        -------
        PolygonPlate
            Arcs cut into straight pieces of the same area.

        Raises
        ------
        TransducerError
            If the drawing has no such area, or several and none was named.
        """
        fitting = [area for area in areas if not self.area or area.name == self.area]
        if len(fitting) != 1:
            known = ", ".join(area.name for area in areas) or "none: no ELECTRODE layer"
            wanted = f'"{self.area}"' if self.area else f"no name, with {len(areas)} to choose from"
            raise TransducerError(
                f"plate.area: expected one area of the drawing ({known}), got {wanted}.",
                hint="Name an area of the drawing, or give the plate as a rectangle or polygon.",
            )
        corners = flatten(fitting[0].loop, _DRAWN_SAGITTA_M)
        return PolygonPlate(corners_m=tuple((float(x), float(y)) for x, y in corners))


Plate = RectanglePlate | PolygonPlate | DiscPlate


def _counted(
    at: str, centre_m: tuple[float, float], points: tuple[NamedPoint, ...]
) -> tuple[float, float]:
    """A centre counted from the origin. [m]"""
    if not at:
        return centre_m
    for point_of_name in points:
        if point_of_name.name == at:
            x, y = point_of_name.point_m
            return x + centre_m[0], y + centre_m[1]
    known = ", ".join(f'"{known.name}"' for known in points)
    raise TransducerError(f'plate.at: expected one of {known}, got "{at}".')
