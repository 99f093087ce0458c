"""Which mode is which when a dimension has changed: shapes compared along the outline.

Bodies of one family have the same sequence of curves, so that places at the same share of the same
curve belong together whatever the sizes. The shapes of two bodies are compared there by the modal
assurance criterion, weighted by the length of each curve.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linear_sum_assignment
from shapely import Point

from modewright.geometry.arcs import arc_of, segments
from modewright.geometry.planar import nearest_places_m, outline_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.modes.basis import ModeShapes

__all__ = ["assurance", "best_pairs", "mode_traces"]

_PLACES_PER_CURVE = 8
_INSET_SHARE = 0.25


def mode_traces(blank: Blank, shapes: ModeShapes) -> NDArray[np.float64]:
    """Displacements along the curves of a body, just inside them, each of unit length as a vector.

    Parameters
    ----------
    blank : Blank
    shapes : ModeShapes
        Of that body.

    Returns
    -------
    float array, shape (places, modes)
        Three components after each other, scaled by the square root of the length of outline that a
        place stands for.
    """
    places, weights = _places(blank)
    # A mesh need not reach as far as the curve it stands for.
    inside = outline_polygon(blank.outline).buffer(-_INSET_SHARE * blank.thickness_m)
    places = np.array([nearest_places_m(inside, Point(place))[0] for place in places])
    moved = shapes.displacement(places) * np.sqrt(weights)[:, None, None]
    flat = moved.reshape(-1, moved.shape[-1])
    return flat / np.linalg.norm(flat, axis=0)


def _places(blank: Blank) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    shares = (np.arange(_PLACES_PER_CURVE) + 0.5) / _PLACES_PER_CURVE
    places: list[NDArray[np.float64]] = []
    weights: list[float] = []
    for loop in (blank.outline.outer, *blank.outline.holes):
        for start, end, bulge in segments(loop):
            if bulge == 0:
                places += [start + share * (end - start) for share in shares]
                length = float(np.hypot(*(end - start)))
            else:
                arc = arc_of(start, end, bulge)
                places += [arc.at(float(share)) for share in shares]
                length = arc.radius_m * abs(arc.angle_rad)
            weights += [length / _PLACES_PER_CURVE] * _PLACES_PER_CURVE
    return np.array(places), np.array(weights)


def assurance(traces: NDArray[np.float64], others: NDArray[np.float64]) -> NDArray[np.float64]:
    """Modal assurance criterion of every pair, 0 to 1.

    Parameters
    ----------
    traces, others : float array, shape (places, modes)
        From `mode_traces`. Traces with other numbers of places have nothing in common.

    Returns
    -------
    float array, shape (modes, modes)
        Of `traces` down, of `others` across.

    References
    ----------
    R. J. Allemang and D. L. Brown, A correlation coefficient for modal vector analysis, Proc. 1st
    International Modal Analysis Conference (1982), 110-116; from memory.
    """
    if len(traces) != len(others):
        return np.zeros((traces.shape[1], others.shape[1]))
    return (traces.T @ others) ** 2


def best_pairs(criterion: NDArray[np.float64]) -> NDArray[np.int64]:
    """For each mode down the one across that it pairs with, the sum of the criterion being largest.

    Returns
    -------
    int array, shape (modes down,)
        Each mode across at most once; there must be as many of them.
    """
    _, pairs = linear_sum_assignment(-criterion)
    return np.asarray(pairs, dtype=np.int64)
