"""Smooth curves turned into pairs of circular arcs, tangents kept.

A biarc joins two points with given tangents by two arcs that meet smoothly; here both have tangent
arms of the same length (Bolton, Biarc curves, Computer-Aided Design 7 (1975) 89-92; from memory).
Its distance from the curve falls with the third power of the piece, so a few arcs hold a micrometre
where straight lines would need hundreds.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    Curve = Callable[[float], tuple[NDArray[np.float64], NDArray[np.float64]]]

__all__ = ["curve_to_arcs"]

_MAX_HALVINGS = 14
_PROBES = (0.1, 0.3, 0.5, 0.7, 0.9)
# Tangents are taken this far (of a piece) inside its ends: kinks and cusps sit at the ends.
_INSIDE = 1e-7


def curve_to_arcs(
    curve: Curve, breaks: Sequence[float], tolerance: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Approximate a plane curve by arcs.

    Parameters
    ----------
    curve : callable
        From the parameter to (point, derivative), each of shape (2,).
    breaks : sequence of float
        Increasing parameters; the curve is smooth between neighbours.
    tolerance : float
        Largest distance between curve and arcs, in the unit of the curve.

    Returns
    -------
    vertices : float array, shape (arcs + 1, 2)
    bulge : float array, shape (arcs,)

    Raises
    ------
    ValueError
        If the curve does not come within the tolerance, as one with a hidden cusp.
    """
    vertices: list[NDArray[np.float64]] = [curve(breaks[0])[0]]
    bulge: list[float] = []
    spans = [(a, b, 0) for a, b in itertools.pairwise(breaks)][::-1]
    while spans:
        low, high, depth = spans.pop()
        arcs = _biarc(curve, low, high)
        if _is_close(curve, low, high, arcs, tolerance):
            for start, end, value in arcs:
                if np.hypot(*(end - start)) > 0:
                    vertices.append(end)
                    bulge.append(value)
            continue
        if depth == _MAX_HALVINGS:
            raise ValueError(f"curve: no arcs within {tolerance:g} near {vertices[-1].tolist()}")
        middle = (low + high) / 2
        spans += [(middle, high, depth + 1), (low, middle, depth + 1)]
    return np.array(vertices), np.array(bulge)


_Arc = tuple["NDArray[np.float64]", "NDArray[np.float64]", float]


def _biarc(curve: Curve, low: float, high: float) -> list[_Arc]:
    start, end = curve(low)[0], curve(high)[0]
    step = (high - low) * _INSIDE
    leave, arrive = _unit(curve(low + step)[1]), _unit(curve(high - step)[1])
    chord, both = end - start, leave + arrive
    # Length d of the tangent arms: 2 (1 - t0·t1) d² + 2 v·(t0 + t1) d - v·v = 0.
    a, b, c = 2 * (1 - leave @ arrive), 2 * chord @ both, -(chord @ chord)
    root = np.sqrt(max(b * b - 4 * a * c, 0.0))
    # The form that loses no digits for nearly equal tangents.
    reach = -2 * c / (b + root) if b + root > 0 else 0.0
    middle = (start + end + reach * (leave - arrive)) / 2
    return [
        (start, middle, _bulge(leave, middle - start)),
        (middle, end, _bulge(end - middle, arrive)),
    ]


def _unit(vector: NDArray[np.float64]) -> NDArray[np.float64]:
    length = np.hypot(vector[0], vector[1])
    return vector / length if length > 0 else vector


def _bulge(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    """Bulge of an arc whose chord and end tangent enclose the angle from `first` to `second`."""
    cross = first[0] * second[1] - first[1] * second[0]
    return float(np.tan(np.arctan2(cross, first @ second) / 2))


def _is_close(curve: Curve, low: float, high: float, arcs: list[_Arc], tolerance: float) -> bool:
    if any(abs(bulge) > 1 for _, _, bulge in arcs):
        return False
    probes = (curve(low + f * (high - low))[0] for f in _PROBES)
    return all(min(_distance(point, arc) for arc in arcs) <= tolerance for point in probes)


def _distance(point: NDArray[np.float64], arc: _Arc) -> float:
    """From a point to the circle or line of an arc, or to its ends if it lies beyond them."""
    start, end, bulge = arc
    chord = end - start
    length = float(np.hypot(*chord))
    if length == 0:
        return float(np.hypot(*(point - start)))
    along = float((point - start) @ chord) / length
    if not -0.1 * length <= along <= 1.1 * length:
        return float(min(np.hypot(*(point - start)), np.hypot(*(point - end))))
    if abs(bulge) * length < 1e-12:
        return float(abs(chord[0] * (point - start)[1] - chord[1] * (point - start)[0]) / length)
    centre = (start + end) / 2 + np.array([-chord[1], chord[0]]) * (1 - bulge**2) / (4 * bulge)
    radius = length * (1 + bulge**2) / (4 * abs(bulge))
    return float(abs(np.hypot(*(point - centre)) - radius))
