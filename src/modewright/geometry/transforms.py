"""Loops moved, rotated, mirrored, reversed. Each function returns a new loop."""

from __future__ import annotations

import math

import numpy as np

from modewright.geometry.loop import Loop
from modewright.geometry.measures import signed_area_m2

__all__ = ["anticlockwise", "mirrored", "moved", "reversed_loop", "rotated"]


def moved(loop: Loop, by_m: tuple[float, float]) -> Loop:
    """Loop shifted by a vector. [m]"""
    return Loop(vertices_m=loop.vertices_m + np.asarray(by_m), bulge=loop.bulge)


def rotated(loop: Loop, angle_rad: float, about_m: tuple[float, float] = (0.0, 0.0)) -> Loop:
    """Loop turned anticlockwise about a place. [rad], [m]"""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    centre = np.asarray(about_m)
    turned = (loop.vertices_m - centre) @ np.array([[cos, sin], [-sin, cos]])
    return Loop(vertices_m=turned + centre, bulge=loop.bulge)


def mirrored(loop: Loop) -> Loop:
    """Loop with y turned to -y; its sense of turning is kept."""
    flipped = Loop(vertices_m=loop.vertices_m * np.array([1.0, -1.0]), bulge=-loop.bulge)
    return reversed_loop(flipped)


def reversed_loop(loop: Loop) -> Loop:
    """The same curve run through the other way."""
    # The bulge of a segment stands with its start, which was its end before.
    return Loop(vertices_m=loop.vertices_m[::-1], bulge=-np.roll(loop.bulge[::-1], -1))


def anticlockwise(loop: Loop) -> Loop:
    """The same curve run through anticlockwise."""
    return loop if signed_area_m2(loop) >= 0 else reversed_loop(loop)
