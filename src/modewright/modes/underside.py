"""The part of a solid's surface that is seen from below, as shapes over its plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Point, Polygon

from modewright.modes.sheet_shapes import SheetShapes
from modewright.modes.triangle import integer_lattice, lattice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.volume_solution import Surface

__all__ = ["seen_shapes"]

# Faces steeper than this (cosine of their normal) show nothing from below.
_STEEP = 1e-3
_BEHIND_M = 1e-6
_SIDE_SHARE = 0.06


def seen_shapes(surface: Surface) -> SheetShapes:
    """Motion of what faces downwards and is not hidden by metal below it, and of the middle.

    Parameters
    ----------
    surface : Surface

    Returns
    -------
    SheetShapes
        Over the plan; components along x, y and z. The middle plane is the mean of lower and upper
        side: it tells torsion of a round rod, of which the underside moves sideways, from lateral
        bending.
    """
    below = _underside(surface)
    # Seen from the other side along x: z and y change their signs, and back.
    turned = _underside(replace(surface, nodes_m=surface.nodes_m * np.array([1.0, -1.0, -1.0])))
    above = replace(turned, corners_m=turned.corners_m * np.array([1.0, -1.0]))
    weights = lattice(below.order)
    places = np.einsum("nc,tcd->tnd", weights, below.corners_m).reshape(-1, 2)
    values = above.displacement(places).reshape(below.node_values.shape)
    return replace(below, middle_values=(below.node_values + values) / 2)


def _underside(surface: Surface) -> SheetShapes:
    """What is seen from below, its middle plane not yet known."""
    order = next(p for p in range(1, 20) if len(integer_lattice(p)) == surface.nodes_m.shape[1])
    triangles = surface.nodes_m[:, surface.corners]
    seen = np.nonzero(_face_down(triangles))[0]
    seen = seen[~_hidden(triangles[seen])]
    return SheetShapes(
        corners_m=triangles[seen][:, :, :2],
        order=order,
        node_values=surface.shapes[seen],
        middle_values=surface.shapes[seen],
        # Towards the sides of a rod the last faces that look down end a little short of its plan.
        edge_tolerance_m=_SIDE_SHARE * float(np.ptp(surface.nodes_m[:, :, 2])),
    )


def _face_down(triangles: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether the metal lies above: its lower boundary has an upward side within."""
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return normal[:, 2] < -_STEEP * np.linalg.norm(normal, axis=1)


def _hidden(triangles: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether another of these triangles lies below the middle of each."""
    plan = [Polygon(corners) for corners in triangles[:, :, :2]]
    middles = triangles.mean(axis=1)
    points = np.array([Point(middle) for middle in middles[:, :2]])
    which, other = shapely.STRtree(plan).query(points, predicate="intersects")
    a, b, c = (triangles[other][:, corner] for corner in range(3))
    normal = np.cross(b - a, c - a)
    away = middles[which][:, :2] - a[:, :2]
    height = a[:, 2] - (normal[:, :2] * away).sum(axis=1) / normal[:, 2]
    hidden = np.zeros(len(triangles), dtype=bool)
    hidden[which[height < middles[which][:, 2] - _BEHIND_M]] = True
    return hidden
