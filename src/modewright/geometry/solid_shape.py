"""Bodies that no flat blank describes: turned rods and solids read from a file.

Their plan, seen from below, stands in the outline of the blank, so that everything which looks at
a body from there (pickups, air, drawings) finds what it needs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import shapely
from shapely import Polygon

from modewright.checks import check_shape, frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["FaceChoice", "SolidShape", "StepBody", "TurnedRod"]

# A round rod loses its warmth across like a sheet of this share of its diameter: π/2 over the
# first root 1.8412 of J1' (C. Zener, Phys. Rev. 52 (1937) 230; from memory).
_ROUND = np.pi / 2 / 1.8412


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceChoice:
    """Faces of a solid, by name or because they lie wholly in a box.

    Parameters
    ----------
    names : tuple of str
    low_m, high_m : tuples of three floats, or None
        Opposite corners of the box. [m]
    """

    names: tuple[str, ...] = ()
    low_m: tuple[float, float, float] | None = None
    high_m: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TurnedRod:
    """Round rod along x, its axis at y = 0.

    Parameters
    ----------
    places_m : float array, shape (stations,)
        x, never falling; twice the same for a step. [m]
    radii_m : float array, shape (stations,)
        Radius at each, straight in between, > 0. [m]
    """

    places_m: NDArray[np.float64]
    radii_m: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "places_m", frozen_array(self.places_m))
        object.__setattr__(self, "radii_m", frozen_array(self.radii_m))
        check_shape(self.radii_m, "radii_m", (len(self.places_m),))

    @property
    def height_m(self) -> float:
        """Largest diameter. [m]"""
        return 2 * float(self.radii_m.max())

    @property
    def sheet_thickness_m(self) -> float:
        """Thickness of the sheet that loses its warmth across as fast. [m]"""
        middle = (self.radii_m[1:] + self.radii_m[:-1]) / 2
        shares = np.diff(self.places_m) * middle**2
        return 2 * _ROUND * float(shares @ middle / shares.sum())

    def faces_m(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Heights of the lower and the upper face at places of the plan; see `Blank.faces_m`."""
        radius = np.interp(points_m[:, 0], self.places_m, self.radii_m)
        half = np.sqrt(np.maximum(radius**2 - points_m[:, 1] ** 2, 0.0))
        axis = self.height_m / 2
        return np.stack([axis - half, axis + half])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StepBody:
    """Solid of a STEP file, as it lies there.

    Parameters
    ----------
    text : str
        Contents of the file.
    surface_m : float array, shape (triangles, 3, 3)
        Its surface, roughly. [m]
    volume_m3, area_m2 : float
        Of the solid and of its surface. [m³], [m²]
    """

    text: str
    surface_m: NDArray[np.float64]
    volume_m3: float
    area_m2: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "surface_m", frozen_array(self.surface_m))
        check_shape(self.surface_m, "surface_m", (None, 3, 3))

    @property
    def height_m(self) -> float:
        """Extent along z. [m]"""
        return float(np.ptp(self.surface_m[:, :, 2]))

    @property
    def sheet_thickness_m(self) -> float:
        """Twice volume over surface, which for sheet is its thickness. [m]"""
        return 2 * self.volume_m3 / self.area_m2

    def faces_m(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Heights of the lowest and the highest face over places of the plan, 0 beside it."""
        low = float(self.surface_m[:, :, 2].min())
        plan = [Polygon(corners) for corners in self.surface_m[:, :, :2]]
        tree = shapely.STRtree(plan)
        point, triangle = tree.query(shapely.points(points_m), predicate="intersects")
        heights = _heights(self.surface_m[triangle], points_m[point]) - low
        lower, upper = np.full(len(points_m), np.inf), np.full(len(points_m), -np.inf)
        np.minimum.at(lower, point, heights)
        np.maximum.at(upper, point, heights)
        return np.stack([np.where(np.isfinite(lower), lower, 0.0), np.maximum(upper, 0.0)])


SolidShape: TypeAlias = TurnedRod | StepBody


def _heights(triangles: NDArray[np.float64], places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Heights of planes through triangles over places; their mean where they stand upright."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    normal = np.cross(b - a, c - a)
    upright = np.abs(normal[:, 2]) < 1e-9 * np.linalg.norm(normal, axis=1)
    slope = np.where(upright, 1.0, normal[:, 2])
    away = places - a[:, :2]
    z = a[:, 2] - (normal[:, 0] * away[:, 0] + normal[:, 1] * away[:, 1]) / slope
    return np.where(upright, triangles[:, :, 2].mean(axis=1), z)
