"""An area cut into triangles, on which functions are linear piece by piece.

Places are chosen triangle by triangle, and the edge of a plate is where a sum of functions is zero.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon, box

from modewright.checks import check_shape, frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

__all__ = ["AreaMesh", "mesh_area"]

# Corners closer than this share of a cell are one.
_GRID_SHARE = 1e-6
_SLIVER_SHARE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AreaMesh:
    """Triangles that cover an area.

    Parameters
    ----------
    points_m : float array, shape (points, 2)
        Corners. [m]
    triangles : int array, shape (triangles, 3)
        Numbers of the corners of each triangle.
    """

    points_m: NDArray[np.float64]
    triangles: NDArray[np.int64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "points_m", frozen_array(self.points_m))
        check_shape(self.points_m, "points_m", (None, 2))
        check_shape(self.triangles, "triangles", (None, 3))

    @property
    def area_m2(self) -> NDArray[np.float64]:
        """Area of each triangle. [m²]"""
        a, b, c = np.moveaxis(self.points_m[self.triangles], 1, 0)
        cross = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
        return np.abs(cross) / 2

    def over_triangles(self, density: NDArray[np.float64]) -> NDArray[np.float64]:
        """Integral of functions over each triangle.

        Parameters
        ----------
        density : float array, shape (points, functions)
            At the corners.

        Returns
        -------
        float array, shape (triangles, functions)
        """
        return density[self.triangles].mean(axis=1) * self.area_m2[:, None]

    def magnitudes(self, density: NDArray[np.float64]) -> NDArray[np.float64]:
        """What each density comes to over the area, every triangle with its better sign.

        Parameters
        ----------
        density : float array, shape (points, densities)

        Returns
        -------
        float array, shape (densities,)
        """
        return np.abs(self.over_triangles(density)).sum(axis=0)


def mesh_area(area: BaseGeometry, along: int) -> AreaMesh:
    """Cut an area into triangles.

    Parameters
    ----------
    area : Polygon or MultiPolygon
        [m]
    along : int
        Number of cells along the longer side of its box; a whole cell is four triangles, so that
        an area that has an axis of symmetry parallel to x or y keeps it.

    Returns
    -------
    AreaMesh

    Raises
    ------
    ValueError
        If the area is empty.
    """
    if area.is_empty or area.area <= 0:
        raise ValueError("area: expected a polygon that bounds an area, got none")
    low_x, low_y, high_x, high_y = area.bounds
    size = max(high_x - low_x, high_y - low_y) / along
    columns = int(np.ceil((high_x - low_x) / size - 1e-9))
    rows = int(np.ceil((high_y - low_y) / size - 1e-9))
    # The cells reach as far beyond one side as beyond the other.
    start_x = (low_x + high_x - columns * size) / 2
    start_y = (low_y + high_y - rows * size) / 2
    places = [(start_x + i * size, start_y + j * size) for i in range(columns) for j in range(rows)]
    cells = [box(x, y, x + size, y + size) for x, y in places]
    shapely.prepare(area)
    is_whole = [area.contains_properly(cell) for cell in cells]
    cut = [area.intersection(c) for c, whole in zip(cells, is_whole, strict=True) if not whole]
    corners = np.concatenate([_quarters(np.array(places)[is_whole], size), _cut_cells(cut, size)])
    grid = _GRID_SHARE * size
    keys = np.asarray(np.round((corners.reshape(-1, 2) - [start_x, start_y]) / grid), np.int64)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return AreaMesh(
        points_m=corners.reshape(-1, 2)[first],
        triangles=np.asarray(inverse, dtype=np.int64).reshape(-1, 3),
    )


def _quarters(lower_left_m: NDArray[np.float64], size_m: float) -> NDArray[np.float64]:
    """Four triangles around the middle of each square, shape (triangles, 3, 2)."""
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * size_m
    middle = np.full((4, 2), size_m / 2)
    four = np.stack([square, np.roll(square, -1, axis=0), middle], axis=1)
    return (lower_left_m.reshape(-1, 1, 1, 2) + four).reshape(-1, 3, 2)


def _cut_cells(pieces: list[BaseGeometry], size_m: float) -> NDArray[np.float64]:
    """Triangles of what the edge of the area leaves of a cell, shape (triangles, 3, 2)."""
    found = [
        # Each triangle is a closed ring of four places, the last being the first.
        shapely.get_coordinates(triangle)[:3]
        for piece in pieces
        for part in shapely.get_parts(piece)
        if isinstance(part, Polygon)
        for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(part))
        if triangle.area > _SLIVER_SHARE * size_m**2
    ]
    return np.array(found).reshape(-1, 3, 2)
