"""Straight pieces of a closed curve."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.loop import Loop

__all__ = ["edges_at_x", "straight_edges_m"]

_SAME_M = 1e-9


def straight_edges_m(loop: Loop) -> NDArray[np.float64]:
    """Start and end of every segment without bulge.

    Returns
    -------
    float array, shape (edges, 2, 2)
        [m]
    """
    ends = np.roll(loop.vertices_m, -1, axis=0)
    return np.stack([loop.vertices_m, ends], axis=1)[loop.bulge == 0]


def edges_at_x(loop: Loop, x_m: float) -> NDArray[np.float64]:
    """Straight pieces that lie across the sheet at this x. [m]"""
    edges = straight_edges_m(loop)
    return edges[np.all(np.abs(edges[:, :, 0] - x_m) < _SAME_M, axis=1)]
