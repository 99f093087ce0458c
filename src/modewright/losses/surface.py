"""How the modes move a sheet, sampled on a grid of cells."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from modewright.checks import check_shape, frozen_array
from modewright.geometry.flatten import flatten
from modewright.modes.regions import sheet_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.modes.basis import ModeShapes

__all__ = ["SAGITTA_M", "SurfaceMotion", "held_width_m", "local_width_m", "surface_motion"]

SAGITTA_M = 5e-6
_CELLS = 300
_DIRECTIONS = 12
_STEEP = 0.8  # sine of the angle between chord and edge


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
    """

    points_m: NDArray[np.float64]
    motion: NDArray[np.float64]
    area_m2: NDArray[np.float64]
    mass_kg: NDArray[np.float64]
    width_m: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("points_m", "motion", "area_m2", "mass_kg", "width_m"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        count = len(self.points_m)
        check_shape(self.points_m, "points_m", (None, 2))
        check_shape(self.motion, "motion", (count, 3, None))
        for name in ("area_m2", "mass_kg", "width_m"):
            check_shape(getattr(self, name), name, (count,))

    @property
    def normal(self) -> NDArray[np.float64]:
        """Displacement along z, shape (points, modes). [1/sqrt(kg)]"""
        return self.motion[:, 2, :]

    @property
    def momentum(self) -> NDArray[np.float64]:
        """Momentum along x, y and z per modal velocity, shape (3, modes). [sqrt(kg)]"""
        return np.einsum("p,pcm->cm", self.mass_kg, self.motion)


def surface_motion(
    blank: Blank, shapes: ModeShapes, density_kg_per_m3: float, *, cells: int = _CELLS
) -> SurfaceMotion:
    """Sample the modes of a sheet on about as many square cells.

    Parameters
    ----------
    blank : Blank
    shapes : ModeShapes
        Mass-normalised.
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
    points_m = _cell_centres(sheet, cells)
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
    return SurfaceMotion(
        points_m=points_m,
        motion=shapes.middle.displacement(points_m),
        area_m2=area_m2,
        mass_kg=mass_kg,
        width_m=local_width_m(sheet, points_m),
    )


def _cell_centres(sheet: Polygon, cells: int) -> NDArray[np.float64]:
    """Centres of square cells that lie inside; a narrow sheet gets at least four across."""
    low_x, low_y, high_x, high_y = sheet.bounds
    # A sheet of area A and circumference C is about 2 A/C wide.
    size_m = min(math.sqrt(sheet.area / cells), sheet.area / (2 * sheet.length))
    across, along = math.ceil((high_x - low_x) / size_m), math.ceil((high_y - low_y) / size_m)
    x = low_x + (np.arange(across) + 0.5) * (high_x - low_x) / across
    y = low_y + (np.arange(along) + 0.5) * (high_y - low_y) / along
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    return grid[shapely.contains_xy(sheet, grid[:, 0], grid[:, 1])]


def local_width_m(sheet: Polygon, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Way across the sheet through each point, from side to side. [m]

    Parameters
    ----------
    sheet : Polygon
        [m]
    points_m : float array, shape (points, 2)
        Inside it. [m]

    Returns
    -------
    float array, shape (points,)
        Shortest of 12 directions that cross the edge steeply at both ends, so that a short cut
        over a corner does not count; at most 1 % too long between parallel edges. Where no
        direction is steep, the shortest of all. [m]
    """
    rings = [np.asarray(ring.coords) for ring in (sheet.exterior, *sheet.interiors)]
    start = np.concatenate([ring[:-1] for ring in rings])
    edge = np.concatenate([np.diff(ring, axis=0) for ring in rings])
    steep = np.full(len(points_m), np.inf)
    shortest = np.full(len(points_m), np.inf)
    for angle in np.arange(_DIRECTIONS) * math.pi / _DIRECTIONS:
        length_m, is_steep = _chord(angle, points_m, start, edge)
        steep = np.where(is_steep, np.minimum(steep, length_m), steep)
        shortest = np.minimum(shortest, length_m)
    return np.where(np.isfinite(steep), steep, shortest)


def _chord(
    angle_rad: float,
    points_m: NDArray[np.float64],
    start_m: NDArray[np.float64],
    edge_m: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Distance between the nearest edges ahead of and behind each point, and if both are steep."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    offset = start_m[None, :, :] - points_m[:, None, :]
    turn = cos * edge_m[:, 1] - sin * edge_m[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        ahead = (offset[..., 0] * edge_m[:, 1] - offset[..., 1] * edge_m[:, 0]) / turn
        along = (offset[..., 0] * sin - offset[..., 1] * cos) / turn
        is_hit = (along >= 0) & (along <= 1)
    forward = np.where(is_hit & (ahead > 0), ahead, np.inf)
    backward = np.where(is_hit & (ahead <= 0), -ahead, np.inf)
    is_steep_edge = np.abs(turn) > _STEEP * np.hypot(*edge_m.T)
    both = is_steep_edge[forward.argmin(axis=1)] & is_steep_edge[backward.argmin(axis=1)]
    return forward.min(axis=1) + backward.min(axis=1), both


def held_width_m(blank: Blank) -> float:
    """Length of the line along which a sheet is held. [m]

    Parameters
    ----------
    blank : Blank

    Returns
    -------
    float
        Held edges, and the edges of held areas where they cross the sheet; 0 for a free one. [m]
    """
    if blank.hold is None:
        return 0.0
    edges = blank.hold.edges_m
    total_m = float(np.sum(np.hypot(*(edges[:, 1] - edges[:, 0]).T)))
    sheet = sheet_polygon(blank, SAGITTA_M)
    inside = sheet.buffer(-SAGITTA_M)
    for area in blank.hold.areas:
        total_m += Polygon(flatten(area, SAGITTA_M)).exterior.intersection(inside).length
    return total_m
