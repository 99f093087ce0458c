"""Polygons with rounded corners, and other plain closed curves."""

from __future__ import annotations

import math

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.loop import Loop
from modewright.geometry.places import place_mm

__all__ = ["circle", "rectangle", "rounded_polygon", "slot"]

# Two fillets that use up an edge between them leave a piece of round-off length.
_NOTHING_M = 1e-10


def circle(centre_m: tuple[float, float], diameter_m: float) -> Loop:
    """Circle as two half turns, anticlockwise."""
    x, y = centre_m
    radius_m = diameter_m / 2
    return Loop(vertices_m=np.array([[x - radius_m, y], [x + radius_m, y]]), bulge=np.ones(2))


def rectangle(low_m: tuple[float, float], high_m: tuple[float, float]) -> Loop:
    """Rectangle between two opposite corners, anticlockwise."""
    (x0, y0), (x1, y1) = low_m, high_m
    return Loop.polygon([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def slot(centre_m: tuple[float, float], length_m: float, width_m: float, angle_rad: float) -> Loop:
    """Slotted hole with round ends.

    Parameters
    ----------
    centre_m : tuple of two floats
        [m]
    length_m : float
        Over all, greater than the width. [m]
    width_m : float
        [m]
    angle_rad : float
        Direction of its length, from x towards y. [rad]
    """
    along = np.array([math.cos(angle_rad), math.sin(angle_rad)])
    across = np.array([-along[1], along[0]])
    a, b = along * (length_m - width_m) / 2, across * width_m / 2
    corners = np.array([-a - b, a - b, a + b, -a + b]) + np.asarray(centre_m)
    return Loop(vertices_m=corners, bulge=np.array([0.0, 1.0, 0.0, 1.0]))


def rounded_polygon(corners: list[tuple[float, float, float]]) -> Loop:
    """Polygon whose corners are rounded by tangent arcs.

    Parameters
    ----------
    corners : list of (x, y, radius)
        Radius 0 leaves a corner sharp. [m]

    Returns
    -------
    Loop
        Begins at the first corner (at the start of its arc if it is rounded).

    Raises
    ------
    GeometryError
        If two neighbouring arcs need more than the edge between them; names both corners.
    """
    places = np.array([corner[:2] for corner in corners])
    edges = np.roll(places, -1, axis=0) - places
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    turns = _turns(edges)
    taken = np.array([c[2] for c in corners]) * np.abs(np.tan(turns / 2))
    _check_room(places, lengths, taken)
    directions = edges / lengths[:, None]
    vertices: list[np.ndarray] = []
    bulges: list[float] = []
    for i, place in enumerate(places):
        if taken[i] == 0:
            vertices.append(place)
            bulges.append(0.0)
        else:
            vertices += [place - taken[i] * directions[i - 1], place + taken[i] * directions[i]]
            bulges += [math.tan(turns[i] / 4), 0.0]
    return _without_empty_edges(np.array(vertices), np.array(bulges))


def _turns(edges: np.ndarray) -> np.ndarray:
    """Angle by which the direction turns at each corner. [rad]"""
    before = np.roll(edges, 1, axis=0)
    cross = before[:, 0] * edges[:, 1] - before[:, 1] * edges[:, 0]
    return np.arctan2(cross, np.sum(before * edges, axis=1))


def _check_room(places: np.ndarray, lengths: np.ndarray, taken: np.ndarray) -> None:
    needed = taken + np.roll(taken, -1)
    tight = np.nonzero(needed > lengths + _NOTHING_M)[0]
    if len(tight):
        i = int(tight[0])
        start, end = places[i], places[(i + 1) % len(places)]
        raise GeometryError(
            f"rounding of the corners {place_mm(start)} and {place_mm(end)}: expected arcs that "
            f"fit on the {lengths[i] * 1e3:.3f} mm between them, got arcs that need "
            f"{needed[i] * 1e3:.3f} mm.",
            hint="Make the radius smaller.",
        )


def _without_empty_edges(vertices: np.ndarray, bulges: np.ndarray) -> Loop:
    steps = np.roll(vertices, -1, axis=0) - vertices
    kept = (np.hypot(steps[:, 0], steps[:, 1]) > _NOTHING_M) | (bulges != 0)
    return Loop(vertices_m=vertices[kept], bulge=bulges[kept])
