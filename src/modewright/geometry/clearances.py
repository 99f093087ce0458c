"""Narrowest metal, narrowest slot and sharpest inner corner of an outline.

Widths are measured along normals from many places of every curve to the next curve that faces
them, so that the two flanks of a rounded corner do not count as a narrow place.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
from shapely import LinearRing

from modewright.geometry.arcs import arc_of, segments
from modewright.geometry.flatten import flatten
from modewright.geometry.measures import signed_area_m2

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Outline
    from modewright.geometry.loop import Loop

__all__ = ["ligament_m", "narrowest_widths_m", "smallest_inner_radius_m"]

_SAGITTA_M = 2e-7
_LIGAMENT_SAGITTA_M = 2e-6
_PLACES = 600
# Curves within about 60 degrees of parallel bound a strip; steeper ones bound a corner.
_FACING = -0.5
_SHARP_TURN = 1e-3


def narrowest_widths_m(outline: Outline) -> tuple[float, float]:
    """Narrowest strip of metal, and narrowest gap between metal.

    Parameters
    ----------
    outline : Outline

    Returns
    -------
    tuple of two floats
        Metal, slot; infinite where nothing faces each other. A round hole is a slot of its
        diameter. [m]
    """
    edges = _edges(outline)
    start, along = edges[:, 0], edges[:, 1] - edges[:, 0]
    length = np.hypot(*along.T)
    inward = np.stack([-along[:, 1], along[:, 0]], axis=1) / length[:, None]
    which, share = _places(length)
    places = start[which] + share[:, None] * along[which]
    metal = _least_distance(places, inward[which], inward, start, along)
    slot = _least_distance(places, -inward[which], -inward, start, along)
    return metal, slot


def ligament_m(outline: Outline) -> float:
    """Narrowest metal between a hole and the contour or another hole; infinite without holes. [m]

    To a few micrometres; holes that cross the contour or each other have none.
    """
    rings = [
        LinearRing(flatten(loop, _LIGAMENT_SAGITTA_M)) for loop in (outline.outer, *outline.holes)
    ]
    pairs = itertools.combinations(rings, 2)
    return min((float(one.distance(other)) for one, other in pairs), default=math.inf)


def _edges(outline: Outline) -> NDArray[np.float64]:
    """Straight pieces (start, end) of all curves, metal on their left."""
    found: list[NDArray[np.float64]] = []
    for loop, sense in [(outline.outer, 1.0), *((hole, -1.0) for hole in outline.holes)]:
        corners = flatten(loop, _SAGITTA_M)
        if signed_area_m2(loop) * sense < 0:
            corners = corners[::-1]
        found.append(np.stack([corners, np.roll(corners, -1, axis=0)], axis=1))
    edges = np.concatenate(found)
    return edges[np.hypot(*(edges[:, 1] - edges[:, 0]).T) > 0]


def _places(length_m: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Edge of each place to measure from, and how far along it lies."""
    counts = np.maximum(1, np.ceil(_PLACES * length_m / length_m.sum())).astype(np.int64)
    which = np.repeat(np.arange(len(length_m)), counts)
    number = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    return which, (number + 0.5) / counts[which]


def _least_distance(
    places: NDArray[np.float64],
    directions: NDArray[np.float64],
    faces: NDArray[np.float64],
    start: NDArray[np.float64],
    along: NDArray[np.float64],
) -> float:
    """Least distance along a direction to an edge that faces it, `faces` being their normals."""
    across = directions[:, None, 0] * along[:, 1] - directions[:, None, 1] * along[:, 0]
    away = start - places[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = (away[..., 0] * along[:, 1] - away[..., 1] * along[:, 0]) / across
        share = (away[..., 0] * directions[:, None, 1] - away[..., 1] * directions[:, None, 0]) / (
            across
        )
    is_hit = (distance > 0) & (share >= 0) & (share <= 1) & (directions @ faces.T < _FACING)
    return float(np.min(distance, initial=math.inf, where=is_hit))


def smallest_inner_radius_m(outline: Outline) -> float:
    """Smallest radius of all inner corners; 0 for a sharp one, infinite if there is none. [m]"""
    loops = [(outline.outer, 1.0), *((hole, -1.0) for hole in outline.holes)]
    return min(_smallest(loop, sense) for loop, sense in loops)


def _smallest(loop: Loop, sense: float) -> float:
    """Smallest radius where the curve turns towards the metal, `sense` being 1 for an outline."""
    sense *= math.copysign(1.0, signed_area_m2(loop))
    radii = [math.inf]
    turns: list[tuple[float, float]] = []
    for start, end, bulge in segments(loop):
        chord = math.atan2(end[1] - start[1], end[0] - start[0])
        half = 2 * math.atan(bulge)
        turns.append((chord - half, chord + half))
        if bulge * sense < 0:
            radii.append(arc_of(start, end, bulge).radius_m)
    for (_, before), (after, _) in zip(turns, turns[1:] + turns[:1], strict=True):
        turn = (after - before + math.pi) % (2 * math.pi) - math.pi
        if turn * sense < -_SHARP_TURN:
            radii.append(0.0)
    return min(radii)
