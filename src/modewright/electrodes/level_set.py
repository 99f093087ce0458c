"""The part of an area in which a sum of functions is above zero, and how it follows the sum.

Functions are linear on each triangle, for which everything here is exact: integrals over the part,
their change with the sum (a line integral along the edge, divided by the steepness of the sum
there), and the part itself as polygons.

References
----------
Osher & Sethian, J. Comput. Phys. 79 (1988) 12 (areas as level sets); Delfour & Zolésio, Shapes and
Geometries, 2001, ch. 9 (derivative of an integral over a moving area); both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from modewright.electrodes.area_mesh import AreaMesh

__all__ = ["level_change", "level_integral", "level_polygons"]

_CORNER_SHARE = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Cut:
    """Triangles that the zero line crosses, each with one corner alone on its side.

    Parameters
    ----------
    triangles : int array, shape (cut,)
        Which ones.
    corners : int array, shape (cut, 3)
        Their corners, the lone one first.
    way : float array, shape (cut, 2)
        Where the line crosses the two sides from the lone corner: 0 there, 1 at the other end.
    is_above : bool array, shape (cut,)
        Whether the lone corner is above zero.
    """

    triangles: NDArray[np.int64]
    corners: NDArray[np.int64]
    way: NDArray[np.float64]
    is_above: NDArray[np.bool_]

    def ends(self, values: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Values at both ends of the line through each triangle, shape (cut, ...)."""
        lone = values[self.corners[:, 0]]
        shape = (-1, *([1] * (values.ndim - 1)))
        first = lone + self.way[:, 0].reshape(shape) * (values[self.corners[:, 1]] - lone)
        second = lone + self.way[:, 1].reshape(shape) * (values[self.corners[:, 2]] - lone)
        return first, second


def _cut(mesh: AreaMesh, level: NDArray[np.float64]) -> _Cut:
    above = level[mesh.triangles] > 0
    count = np.count_nonzero(above, axis=1)
    which = np.nonzero((count == 1) | (count == 2))[0]
    is_above = count[which] == 1
    lone = np.argmax(above[which] == is_above[:, None], axis=1)
    order = (lone[:, None] + np.arange(3)) % 3
    corners = np.take_along_axis(mesh.triangles[which], order, axis=1)
    value = level[corners]
    way = value[:, :1] / (value[:, :1] - value[:, 1:])
    return _Cut(triangles=which, corners=corners, way=way, is_above=is_above)


def level_integral(
    mesh: AreaMesh, level: NDArray[np.float64], density: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Integrals over the part in which the level is above zero.

    Parameters
    ----------
    mesh : AreaMesh
    level : float array, shape (points,)
    density : float array, shape (points, functions)

    Returns
    -------
    float array, shape (functions,)
    """
    above = np.count_nonzero(level[mesh.triangles] > 0, axis=1)
    every = mesh.over_triangles(density)
    cut = _cut(mesh, level)
    first, second = cut.ends(density)
    tip = (density[cut.corners[:, 0]] + first + second) / 3
    tip *= (mesh.area_m2[cut.triangles] * cut.way.prod(axis=1))[:, None]
    tip[~cut.is_above] = every[cut.triangles[~cut.is_above]] - tip[~cut.is_above]
    return np.asarray(every[above == 3].sum(axis=0) + tip.sum(axis=0))


def level_change(
    mesh: AreaMesh,
    level: NDArray[np.float64],
    density: NDArray[np.float64],
    added: NDArray[np.float64],
) -> NDArray[np.float64]:
    """How the integrals change as functions are added to the level.

    Parameters
    ----------
    mesh : AreaMesh
    level : float array, shape (points,)
    density : float array, shape (points, functions)
    added : float array, shape (points, others)

    Returns
    -------
    float array, shape (functions, others)
        ``∮ density · added / |grad level| dl`` along the edge.
    """
    cut = _cut(mesh, level)
    start, end = cut.ends(mesh.points_m)
    length = np.linalg.norm(end - start, axis=1)
    weight = length / _steepness(mesh, level, cut)
    f = np.stack(cut.ends(density))
    g = np.stack(cut.ends(added)) * weight[:, None]
    # Both are linear along the line: the exact mean of their product.
    share = np.array([[2, 1], [1, 2]]) / 6
    return np.einsum("pq,pcf,qcg->fg", share, f, g, optimize=True)


def _steepness(mesh: AreaMesh, level: NDArray[np.float64], cut: _Cut) -> NDArray[np.float64]:
    a, b, c = np.moveaxis(mesh.points_m[cut.corners], 1, 0)
    value = level[cut.corners]
    u, v = b - a, c - a
    rise_u, rise_v = value[:, 1] - value[:, 0], value[:, 2] - value[:, 0]
    double = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    slope_x = (rise_u * v[:, 1] - rise_v * u[:, 1]) / double
    slope_y = (rise_v * u[:, 0] - rise_u * v[:, 0]) / double
    return np.hypot(slope_x, slope_y)


def level_polygons(mesh: AreaMesh, level: NDArray[np.float64]) -> BaseGeometry:
    """The part in which the level is above zero.

    Parameters
    ----------
    mesh : AreaMesh
    level : float array, shape (points,)

    Returns
    -------
    Polygon or MultiPolygon
        Empty if there is none. [m]
    """
    # A line through a corner would leave triangles without width.
    least = _CORNER_SHARE * np.abs(level).max()
    level = np.where(np.abs(level) < least, np.copysign(least, level), level)
    above = np.count_nonzero(level[mesh.triangles] > 0, axis=1)
    cut = _cut(mesh, level)
    start, end = (
        _crossing(mesh.points_m, level, cut.corners[:, 0], cut.corners[:, other])
        for other in (1, 2)
    )
    a, b, c = np.moveaxis(mesh.points_m[cut.corners], 1, 0)
    pieces = [
        *_polygons(mesh.points_m[mesh.triangles[above == 3]]),
        *_polygons(np.stack([a, start, end], axis=1)[cut.is_above]),
        *_polygons(np.stack([start, b, c, end], axis=1)[~cut.is_above]),
    ]
    return shapely.union_all(pieces)


def _polygons(corners_m: NDArray[np.float64]) -> list[Polygon]:
    return [Polygon(corners) for corners in corners_m]


def _crossing(
    points_m: NDArray[np.float64],
    level: NDArray[np.float64],
    one: NDArray[np.int64],
    other: NDArray[np.int64],
) -> NDArray[np.float64]:
    """Where the line crosses sides: to the last digit the same, seen from either triangle."""
    low, high = np.minimum(one, other), np.maximum(one, other)
    way = level[low] / (level[low] - level[high])
    return points_m[low] + way[:, None] * (points_m[high] - points_m[low])
