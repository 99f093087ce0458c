"""Runs of small arcs, as drawn curves consist of, joined into fewer arcs of the same area.

A mesh follows every corner of the outline it is given; a curve read to a micrometre would make it
needlessly fine.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from modewright.geometry.loop import Loop

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["merged_arcs"]

# Arcs that meet at a larger angle form a corner, which stays.
_SMOOTH_RAD = 0.02
# A merged arc turns by a quarter of a circle at most.
_MAX_TURN_RAD = math.pi / 2
_FLAT_BULGE = 1e-3


def merged_arcs(loop: Loop, deviation_m: float) -> Loop:
    """Loop with neighbouring arcs joined where that hardly moves the curve.

    Parameters
    ----------
    loop : Loop
    deviation_m : float
        Largest distance by which the curve may move. [m]

    Returns
    -------
    Loop
        Of the same area to round-off; lines, corners and arcs between lines are as before.
    """
    count = len(loop.bulge)
    is_joint = _smooth_joints(loop)
    if count < 3 or not is_joint.any():
        return loop
    # Begin at a corner if there is one, so that no run is cut in two by the start of the list.
    first = int(np.argmin(is_joint))
    closed = np.roll(loop.vertices_m, -first, axis=0)
    corners = np.concatenate([closed, closed[:1]])
    bulge = np.roll(loop.bulge, -first)
    is_joint = np.roll(is_joint, -first)
    kept: list[int] = []
    bulges: list[float] = []
    here = 0
    while here < count:
        end, value = here + 1, float(bulge[here])
        while end < count and is_joint[end]:
            merged = _merged_bulge(corners[here : end + 2], bulge[here : end + 1], deviation_m)
            if merged is None:
                break
            end, value = end + 1, merged
        kept.append(here)
        bulges.append(value)
        here = end
    return Loop(vertices_m=closed[kept], bulge=np.array(bulges)) if len(kept) > 1 else loop


def _smooth_joints(loop: Loop) -> NDArray[np.bool_]:
    """Vertices at which two arcs meet without a corner."""
    chord = np.roll(loop.vertices_m, -1, axis=0) - loop.vertices_m
    heading = np.arctan2(chord[:, 1], chord[:, 0])
    half_turn = 2 * np.arctan(loop.bulge)
    leave, arrive = heading - half_turn, np.roll(heading + half_turn, 1)
    kink = np.abs((leave - arrive + np.pi) % (2 * np.pi) - np.pi)
    is_arc = loop.bulge != 0
    return is_arc & np.roll(is_arc, 1) & (kink < _SMOOTH_RAD)


def _merged_bulge(
    corners: NDArray[np.float64], bulge: NDArray[np.float64], deviation_m: float
) -> float | None:
    """Bulge of one arc in place of several; None if it would lie too far from them."""
    turn = np.abs(4 * np.arctan(bulge)).sum()
    chord = corners[-1] - corners[0]
    length = float(np.hypot(chord[0], chord[1]))
    if turn > _MAX_TURN_RAD or length == 0:
        return None
    steps = np.diff(corners, axis=0)
    near = corners[:-1] - corners[0]
    polygon = float((near[:, 0] * steps[:, 1] - near[:, 1] * steps[:, 0]).sum()) / 2
    caps = (steps**2).sum(axis=1) * np.array([_cap(float(b)) for b in bulge])
    value = _bulge_of_cap((polygon + float(caps.sum())) / length**2)
    tops = (corners[1:] + corners[:-1]) / 2
    tops = tops + bulge[:, None] / 2 * np.stack([steps[:, 1], -steps[:, 0]], axis=1)
    probes = np.concatenate([corners[1:-1], tops])
    return value if _off_arc_m(probes, corners[0], chord, value) <= deviation_m else None


def _cap(bulge: float) -> float:
    """Area between chord and arc, for a chord of length 1."""
    if abs(bulge) < _FLAT_BULGE:
        return bulge / 3 + bulge**3 / 15
    angle = 4 * math.atan(bulge)
    return ((1 + bulge**2) / (4 * bulge)) ** 2 * (angle - math.sin(angle)) / 2


def _bulge_of_cap(area: float) -> float:
    """Bulge whose cap on a chord of length 1 has this area."""
    bulge = 3 * area
    for _ in range(30):
        step = (_cap(bulge) - area) / (1 / 3 + bulge**2 / 5)
        bulge -= step
        if abs(step) < 1e-16:
            break
    return bulge


def _off_arc_m(
    points: NDArray[np.float64],
    start: NDArray[np.float64],
    chord: NDArray[np.float64],
    bulge: float,
) -> float:
    """Largest distance of points from the circle or line of an arc. [m]"""
    length = float(np.hypot(chord[0], chord[1]))
    unit = chord / length
    away = points - start
    along = away @ unit - length / 2
    right = away[:, 0] * unit[1] - away[:, 1] * unit[0]
    # Circle through both ends with its top at the sagitta s: s² + (c/2)² = 2 s r.
    sagitta = bulge * length / 2
    if abs(bulge) < _FLAT_BULGE:
        return float(np.abs(right - sagitta * (1 - (2 * along / length) ** 2)).max())
    radius = length * (1 + bulge**2) / (4 * bulge)
    return float(np.abs(np.hypot(along, right - (sagitta - radius)) - abs(radius)).max())
