"""Places inside a polygon by its corners, so that they go along when the corners move."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = ["mean_value_weights"]


def mean_value_weights(
    rings_m: Sequence[NDArray[np.float64]], points_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mean value coordinates of places in a polygon with holes.

    Parameters
    ----------
    rings_m : sequence of float arrays, shape (corners, 2)
        The outer ring and the holes, in either sense of turning. [m]
    points_m : float array, shape (points, 2)
        On no ring. [m]

    Returns
    -------
    float array, shape (points, corners of all rings)
        Weights that give each place as a sum of the corners, each row with the sum 1. Moved
        corners move the places with them; where all corners move as an affine map, so do the
        places. With strong bends a place may come to lie outside.

    References
    ----------
    K. Hormann and M. S. Floater, Mean value coordinates for arbitrary planar polygons, ACM
    Transactions on Graphics 25 (2006) 1424-1441; from memory.
    """
    # The other sense of turning changes the sign of what a ring contributes, and nothing else.
    signed = [
        _sign(ring, is_hole=number > 0) * _ring_weights(ring, points_m)
        for number, ring in enumerate(rings_m)
    ]
    together = np.concatenate(signed, axis=1)
    return together / together.sum(axis=1, keepdims=True)


def _sign(ring: NDArray[np.float64], *, is_hole: bool) -> float:
    """1 if the area lies to the left of the ring, else -1."""
    x, y = ring.T
    is_clockwise = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) < 0
    return -1.0 if is_clockwise != is_hole else 1.0


def _ring_weights(ring: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.float64]:
    away = ring - points[:, None]
    radius = np.linalg.norm(away, axis=2)
    after, radius_after = np.roll(away, -1, axis=1), np.roll(radius, -1, axis=1)
    cross = away[..., 0] * after[..., 1] - away[..., 1] * after[..., 0]
    half_tangent = cross / (radius * radius_after + (away * after).sum(axis=2))
    return (half_tangent + np.roll(half_tangent, 1, axis=1)) / radius
