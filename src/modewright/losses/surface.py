"""How the modes move a sheet, sampled on a grid of cells."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.polynomial.legendre import leggauss
from shapely import Polygon

from modewright.checks import check_shape, frozen_array
from modewright.geometry.flatten import flatten
from modewright.geometry.solid_shape import TurnedRod
from modewright.losses.crossings import crossings
from modewright.modes.regions import sheet_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.losses.crossings import Crossings
    from modewright.modes.basis import ModeShapes

__all__ = ["SAGITTA_M", "SurfaceMotion", "cell_centres", "surface_motion"]

SAGITTA_M = 5e-6
_CELLS = 300
# Mass that a rectangle adds, as a multiple of that of a plate as wide as its front, by the ratio of
# its depth to its front.
_DEPTHS = np.array([0.0, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0])
_BLUNTNESS = np.array([1.0, 1.14, 1.21, 1.36, 1.51, 1.70, 1.98, 2.23])
_ACROSS, _SHARES = leggauss(5)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfaceMotion:
    """Motion of the sheet at points that stand for cells of it.

    Parameters
    ----------
    points_m : float array, shape (points, 2)
        [m]
    motion : float array, shape (points, 3, modes)
        Mass-normalised displacement of the middle plane along x, y and z. [1/sqrt(kg)]
    area_m2 : float array, shape (points,)
        Area of the sheet, in plan, that each point stands for. [m²]
    mass_kg : float array, shape (points,)
        Mass that moves with it. [kg]
    width_m : float array, shape (points,)
        Shortest way across the sheet through the point. [m]
    across : float array, shape (points, 2)
        Its direction, a unit vector.
    thickness_m : float array, shape (points,)
        Of the metal there. [m]
    stretch_variance : float array, shape (points, modes)
        Variance, on the way across, of the divergence of the middle plane's motion: what bending
        in the plane is known by. [1/(m² kg)]
    is_round : bool
        Whether sections across are round, otherwise they are rectangles. Round sections move as
        their middle does.
    """

    points_m: NDArray[np.float64]
    motion: NDArray[np.float64]
    area_m2: NDArray[np.float64]
    mass_kg: NDArray[np.float64]
    width_m: NDArray[np.float64]
    across: NDArray[np.float64]
    thickness_m: NDArray[np.float64]
    stretch_variance: NDArray[np.float64]
    is_round: bool

    def __post_init__(self) -> None:
        for name in (
            "points_m", "motion", "area_m2", "mass_kg", "width_m", "across", "thickness_m",
            "stretch_variance",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        count = len(self.points_m)
        check_shape(self.points_m, "points_m", (None, 2))
        check_shape(self.motion, "motion", (count, 3, None))
        check_shape(self.across, "across", (count, 2))
        check_shape(self.stretch_variance, "stretch_variance", (count, self.motion.shape[2]))
        for name in ("area_m2", "mass_kg", "width_m", "thickness_m"):
            check_shape(getattr(self, name), name, (count,))

    @property
    def normal(self) -> NDArray[np.float64]:
        """Displacement along z, shape (points, modes). [1/sqrt(kg)]"""
        return self.motion[:, 2, :]

    @property
    def sideways(self) -> NDArray[np.float64]:
        """Displacement in the plane across the local strip, (points, modes). [1/sqrt(kg)]"""
        return np.einsum("pd,pdm->pm", self.across, self.motion[:, :2])

    @property
    def lengthwise(self) -> NDArray[np.float64]:
        """Displacement in the plane along the local strip, (points, modes). [1/sqrt(kg)]"""
        along = np.stack([-self.across[:, 1], self.across[:, 0]], axis=-1)
        return np.einsum("pd,pdm->pm", along, self.motion[:, :2])

    @property
    def depth_m(self) -> NDArray[np.float64]:
        """Height of the section that each point belongs to, shape (points,). [m]"""
        return self.width_m if self.is_round else self.thickness_m

    @property
    def added_normal_m(self) -> NDArray[np.float64]:
        """Air that swings along with normal motion, as a column of this height. [m]

        (π/4) b for a thin strip of width b and for a round rod alike (H. Lamb, Hydrodynamics, art.
        71); for rectangles more, by the ratio of their sides: DNV-RP-C205, Environmental Conditions
        and Environmental Loads, appendix D (from memory).
        """
        return np.pi / 4 * self.width_m * self._bluntness(self.thickness_m / self.width_m)

    @property
    def added_sideways_m(self) -> NDArray[np.float64]:
        """Air that swings along with motion across the strip in its plane, likewise. [m]"""
        front = self.depth_m**2 / self.width_m
        with np.errstate(divide="ignore"):
            return np.pi / 4 * front * self._bluntness(self.width_m / self.depth_m)

    def _bluntness(self, ratio: NDArray[np.float64]) -> NDArray[np.float64]:
        if self.is_round:
            return np.ones_like(ratio)
        # Deeper than ten times its front a section counts as ten times as deep.
        within = np.minimum(ratio, _DEPTHS[-1])
        return np.interp(within / (1 + within), _DEPTHS / (1 + _DEPTHS), _BLUNTNESS)

    @property
    def moves_normally(self) -> NDArray[np.bool_]:
        """Whether each mode has more energy normal to the sheet than in it, shape (modes,)."""
        energy = np.einsum("p,pcm->cm", self.mass_kg, self.motion**2)
        return energy[2] > energy[0] + energy[1]

    @property
    def momentum(self) -> NDArray[np.float64]:
        """Momentum along x, y and z per modal velocity, shape (3, modes). [sqrt(kg)]"""
        return np.einsum("p,pcm->cm", self.mass_kg, self.motion)

    def turning(self, centre_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Angular momentum about a place of the plan, x, y and z, shape (3, modes). [m sqrt(kg)]"""
        x, y = (self.points_m - centre_m).T
        u, v, w = self.motion.swapaxes(0, 1)
        arms = y[:, None] * w, -x[:, None] * w, x[:, None] * v - y[:, None] * u
        return np.stack([self.mass_kg @ arm for arm in arms])


def surface_motion(
    blank: Blank, shapes: ModeShapes, density_kg_per_m3: float, *, cells: int = _CELLS
) -> SurfaceMotion:
    """Sample the modes of a sheet on about as many square cells.

    Parameters
    ----------
    blank : Blank
    shapes : ModeShapes
        Mass-normalised, of the body's own modes.
    density_kg_per_m3 : float
        Of the sheet. [kg/m³]
    cells : int
        Number wanted.

    Returns
    -------
    SurfaceMotion
        The areas add up to that of the sheet.
    """
    sheet = sheet_polygon(blank, SAGITTA_M)
    points_m = cell_centres(sheet, cells)
    area_m2 = np.full(len(points_m), sheet.area / len(points_m))
    bottom_m, top_m = blank.faces_m(points_m)
    thickness_m = top_m - bottom_m
    for pocket in blank.pockets:
        edge = Polygon(flatten(pocket.loop, SAGITTA_M))
        inside = shapely.contains_xy(edge, points_m[:, 0], points_m[:, 1])
        thickness_m[inside] -= blank.thickness_m - pocket.thickness_m
    mass_kg = density_kg_per_m3 * area_m2 * thickness_m
    for mass in blank.masses:
        distance_m = np.hypot(*(points_m - np.array(mass.centre_m)).T)
        mass_kg[np.argmin(distance_m)] += mass.mass_kg
    is_round = isinstance(blank.solid, TurnedRod)
    ways = crossings(sheet, points_m, (np.pi / 2,)) if is_round else crossings(sheet, points_m)
    places_m = points_m * np.array([1.0, 0.0]) if is_round else points_m
    motion = shapes.middle.displacement(places_m)
    # Bending strain of solids is that in every direction; where sheet is bent it is not known.
    is_flat = blank.solid is None and not blank.bends
    variance = (
        _stretch_variance(shapes, points_m, ways) if is_flat else np.zeros(motion[:, 0].shape)
    )
    return SurfaceMotion(
        points_m=points_m,
        motion=motion,
        area_m2=area_m2,
        mass_kg=mass_kg,
        width_m=ways.width_m,
        across=ways.direction,
        thickness_m=thickness_m,
        stretch_variance=variance,
        is_round=is_round,
    )


def _stretch_variance(
    shapes: ModeShapes, points_m: NDArray[np.float64], ways: Crossings
) -> NDArray[np.float64]:
    """Variance of the divergence in the plane on the way across, shape (points, modes)."""
    share = (1 + _ACROSS) / 2
    away_m = ways.width_m[:, None] * share - ways.behind_m[:, None]
    places_m = points_m[:, None] + away_m[..., None] * ways.direction[:, None]
    slope = shapes.middle.slope(places_m.reshape(-1, 2))
    stretch = (slope[:, 0, 0] + slope[:, 1, 1]).reshape(*away_m.shape, -1)
    weights = _SHARES / 2
    mean = np.einsum("s,psm->pm", weights, stretch)
    return np.einsum("s,psm->pm", weights, (stretch - mean[:, None]) ** 2)


def cell_centres(sheet: Polygon, cells: int) -> NDArray[np.float64]:
    """Centres of square cells that lie inside; a narrow sheet gets at least four across.

    Parameters
    ----------
    sheet : Polygon
        [m]
    cells : int
        Number wanted.

    Returns
    -------
    float array, shape (points, 2)
        [m]
    """
    low_x, low_y, high_x, high_y = sheet.bounds
    # A sheet of area A and circumference C is about 2 A/C wide.
    size_m = min(math.sqrt(sheet.area / cells), sheet.area / (2 * sheet.length))
    across, along = math.ceil((high_x - low_x) / size_m), math.ceil((high_y - low_y) / size_m)
    x = low_x + (np.arange(across) + 0.5) * (high_x - low_x) / across
    y = low_y + (np.arange(along) + 0.5) * (high_y - low_y) / along
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    return grid[shapely.contains_xy(sheet, grid[:, 0], grid[:, 1])]
