"""Corners at which an outline turns inwards."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.geometry.measures import signed_area_m2

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Outline
    from modewright.geometry.loop import Loop

__all__ = ["notches_m"]


def notches_m(outline: Outline, least_rad: float) -> NDArray[np.float64]:
    """Vertices at which the edge of the sheet turns inwards; within an arc it never does.

    Parameters
    ----------
    outline : Outline
    least_rad : float
        By how much it turns at least. [rad]

    Returns
    -------
    float array, shape (notches, 2)
        [m]
    """
    outer = _turned_by(outline.outer, -least_rad)
    return np.concatenate([outer, *(_turned_by(hole, least_rad) for hole in outline.holes)])


def _turned_by(loop: Loop, least_rad: float) -> NDArray[np.float64]:
    """Vertices at which a loop, walked anticlockwise, turns by that much to the left or more.

    To the right if the angle is negative.
    """
    chord = np.roll(loop.vertices_m, -1, axis=0) - loop.vertices_m
    heading = np.arctan2(chord[:, 1], chord[:, 0])
    half_turn = 2 * np.arctan(loop.bulge)
    leave, arrive = heading - half_turn, np.roll(heading + half_turn, 1)
    turn = (leave - arrive + np.pi) % (2 * np.pi) - np.pi
    turn *= np.sign(signed_area_m2(loop)) * np.sign(least_rad)
    return loop.vertices_m[turn > abs(least_rad)]
