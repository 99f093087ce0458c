"""The sheet as a fine triangulation with the displacement of every mode, for pictures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.triangle import lattice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.sheet_shapes import SheetShapes

__all__ = ["SurfacePicture", "surface_picture"]

_GRID_M = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfacePicture:
    """Triangulated lower face.

    Parameters
    ----------
    points_m : float array, shape (points, 2)
        [m]
    triangles : int array, shape (triangles, 3)
    displacement : float array, shape (points, 3, modes)
        Per modal coordinate. [1/sqrt(kg)]
    """

    points_m: NDArray[np.float64]
    triangles: NDArray[np.int64]
    displacement: NDArray[np.float64]


def surface_picture(shapes: SheetShapes) -> SurfacePicture:
    """Divide every triangle of the shapes at its nodes and join coinciding nodes.

    Parameters
    ----------
    shapes : SheetShapes

    Returns
    -------
    SurfacePicture
    """
    order = shapes.order
    nodes = np.einsum("nc,tcd->tnd", lattice(order), shapes.corners_m)
    flat = nodes.reshape(-1, 2)
    keys = np.asarray(np.round(flat / _GRID_M), dtype=np.int64)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    inverse = inverse.reshape(nodes.shape[:2])
    parts = _parts(order)
    values = shapes.node_values.reshape(len(flat), 3, -1)
    return SurfacePicture(
        points_m=flat[first],
        triangles=inverse[:, parts].reshape(-1, 3),
        displacement=values[first],
    )


def _parts(order: int) -> NDArray[np.int64]:
    """Node numbers of the small triangles between the nodes of one triangle."""
    number: dict[tuple[int, int], int] = {}
    for i in range(order + 1):
        for j in range(order + 1 - i):
            number[i, j] = len(number)
    parts: list[tuple[int, int, int]] = []
    for i, j in number:
        if i + j < order:
            parts.append((number[i, j], number[i + 1, j], number[i, j + 1]))
        if i + j < order - 1:
            parts.append((number[i + 1, j], number[i + 1, j + 1], number[i, j + 1]))
    return np.array(parts, dtype=np.int64)
