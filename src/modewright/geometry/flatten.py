"""Arcs turned into straight pieces without losing area.

The corners of the polygon that stands for an arc lie slightly outside it, so that the polygon's
area is that of the true curve: a body meshed from it has the right mass, and the error of its
frequencies falls with the fourth power of the piece length instead of the square.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.merge_arcs import merged_arcs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.loop import Loop

__all__ = ["arc_pieces", "circle_polygon", "flatten", "flatten_alike"]

# Caps the number of pieces of an arc whose sagitta is asked for more finely than makes sense.
_MIN_PIECE_ANGLE = 1e-4
# Arcs flatter than this share of the sagitta stay one straight piece; any other is cut at least
# once, because one piece alone cannot keep the area.
_IGNORED_SHARE = 0.1
# Share of the sagitta by which runs of small arcs may move when they are joined first.
_MERGED_SHARE = 0.5


def arc_pieces(angle_rad: float, radius_m: float, sagitta_m: float) -> int:
    """Number of equal pieces into which an arc is cut.

    Parameters
    ----------
    angle_rad : float
        Angle of the arc, any sign. [rad]
    radius_m : float
        Its radius. [m]
    sagitta_m : float
        Largest distance between arc and chord. [m]

    Returns
    -------
    int
        At least one for every 45 degrees, and two unless the arc is flat to a tenth of the sagitta.
    """
    ratio = 1.0 if radius_m <= sagitta_m else sagitta_m / radius_m
    piece = max(2 * np.arccos(1 - ratio), _MIN_PIECE_ANGLE)
    height_m = radius_m * (1 - np.cos(angle_rad / 2))
    least = 2 if height_m > _IGNORED_SHARE * sagitta_m else 1
    return max(least, int(np.ceil(abs(angle_rad) / min(piece, np.pi / 4) - 1e-9)))


def flatten(loop: Loop, sagitta_m: float) -> NDArray[np.float64]:
    """Polygon that stands for a loop, of the same area.

    Parameters
    ----------
    loop : Loop
    sagitta_m : float
        Largest distance between an arc and the chords it is cut into, > 0. [m]

    Returns
    -------
    float array, shape (corners, 2)
        In the order of the loop. Vertices stay where they are, except that runs of small arcs that
        meet smoothly are joined first. [m]
    """
    merged = merged_arcs(loop, _MERGED_SHARE * sagitta_m)
    return _cut(merged, _all_pieces(merged, sagitta_m))


def flatten_alike(loop: Loop, model: Loop, sagitta_m: float) -> NDArray[np.float64]:
    """Polygon of a loop with as many corners as that of another loop of its kind.

    Parameters
    ----------
    loop : Loop
        With the same sequence of lines and arcs as the model, in other places.
    model : Loop
    sagitta_m : float
        Largest distance between an arc of the model and its chords, > 0. [m]

    Returns
    -------
    float array, shape (corners, 2)
        Corner by corner that of ``flatten(model, sagitta_m)``, in its new place. [m]

    Raises
    ------
    GeometryError
        If the loops are not of one kind.
    """
    merged, like = (merged_arcs(one, _MERGED_SHARE * sagitta_m) for one in (loop, model))
    is_arc, should_be = merged.bulge != 0, like.bulge != 0
    if len(is_arc) != len(should_be) or np.any(is_arc != should_be):
        raise GeometryError(
            f"outline: expected the same {len(should_be)} lines and arcs after a small change of a "
            f"dimension, got {len(is_arc)} or others.",
            hint="A rounding just fits or just vanishes here: change the dimension a little first.",
        )
    return _cut(merged, _all_pieces(like, sagitta_m))


def _all_pieces(loop: Loop, sagitta_m: float) -> list[int]:
    """Number of pieces of every segment."""
    chord = np.roll(loop.vertices_m, -1, axis=0) - loop.vertices_m
    pieces: list[int] = []
    for length, bulge in zip(np.hypot(*chord.T), loop.bulge, strict=True):
        if bulge == 0:
            pieces.append(1)
        else:
            radius = float(length) * (1 + bulge**2) / (4 * abs(bulge))
            pieces.append(arc_pieces(float(4 * np.arctan(bulge)), radius, sagitta_m))
    return pieces


def _cut(loop: Loop, pieces: list[int]) -> NDArray[np.float64]:
    corners: list[NDArray[np.float64]] = []
    ends = np.roll(loop.vertices_m, -1, axis=0)
    for start, end, bulge, count in zip(loop.vertices_m, ends, loop.bulge, pieces, strict=True):
        corners.append(start[None, :])
        if count > 1:
            corners.append(_arc_corners(start, end, float(bulge), count))
    return np.concatenate(corners)


def _arc_corners(
    start: NDArray[np.float64], end: NDArray[np.float64], bulge: float, pieces: int
) -> NDArray[np.float64]:
    """Corners between the two ends of an arc."""
    angle = 4 * np.arctan(bulge)
    chord = end - start
    # Centre on the left of the chord for a positive angle below half a turn.
    centre = (start + end) / 2 + np.array([-chord[1], chord[0]]) * (1 - bulge**2) / (4 * bulge)
    step = angle / pieces
    turns = step * np.arange(1, pieces)
    spoke = start - centre
    cos, sin = np.cos(turns), np.sin(turns)
    unit = np.stack([cos * spoke[0] - sin * spoke[1], sin * spoke[0] + cos * spoke[1]], axis=1)
    return centre + _lift(step, pieces) * unit


def _lift(step_rad: float, pieces: int) -> float:
    """Factor on the radius of the inner corners that gives the fan the area of the sector.

    The fan has two triangles with one corner on the circle and `pieces` - 2 with both corners
    lifted: sin(step) (2 f + (pieces - 2) f²) = pieces step.
    """
    target = pieces * abs(step_rad) / np.sin(abs(step_rad))
    inner = pieces - 2
    if inner == 0:
        return float(target / 2)
    return float((-1 + np.sqrt(1 + inner * target)) / inner)


def circle_polygon(
    centre_m: tuple[float, float], radius_m: float, sagitta_m: float
) -> NDArray[np.float64]:
    """Regular polygon of the area of a circle.

    Returns
    -------
    float array, shape (corners, 2)
        Anticlockwise. [m]
    """
    pieces = max(8, arc_pieces(2 * np.pi, radius_m, sagitta_m))
    turn = 2 * np.pi * np.arange(pieces) / pieces
    step = 2 * np.pi / pieces
    lifted = radius_m * np.sqrt(step / np.sin(step))
    return np.asarray(centre_m) + lifted * np.stack([np.cos(turn), np.sin(turn)], axis=1)
