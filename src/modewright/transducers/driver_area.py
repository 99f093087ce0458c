"""A drawn driver area against the disc that stands for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from shapely import Point, Polygon

from modewright.geometry.flatten import flatten
from modewright.transducers.plate import polygon_points

if TYPE_CHECKING:
    from modewright.geometry.sketch import NamedArea

__all__ = ["disc_note"]

_SAGITTA_M = 5e-6
# A square has 9 % of itself outside its disc and forces as good as equal.
_LEAST_OUTSIDE = 0.12
_ERROR = 0.1


def disc_note(area: NamedArea) -> str:
    """Say what a disc of the same size around the centroid leaves out of a drawn area.

    Parameters
    ----------
    area : NamedArea
        Closed area on a DRIVER layer.

    Returns
    -------
    str
        One sentence or two; empty where the area is about as round as a square.

    Notes
    -----
    A driver pushes a mode by the mean of its shape over the face. For a wave of length λ along the
    area that mean is 1 - 2 (π/λ)² M but for fourth powers, M being the second moment over the area:
    d²/16 of a disc. The two differ by 2 (π/λ)² times the difference of the moments.
    """
    polygon = Polygon(flatten(area.loop, _SAGITTA_M))
    disc = Point(polygon.centroid).buffer(float(np.sqrt(polygon.area / np.pi)), quad_segs=64)
    outside = polygon.difference(disc).area / polygon.area
    if outside < _LEAST_OUTSIDE:
        return ""
    points = polygon_points(polygon)
    away_m = points.points_m - points.centroid_m
    moments = np.linalg.eigvalsh((away_m * points.weight_m2[:, None]).T @ away_m) / polygon.area
    excess_m2 = float(moments[-1]) - polygon.area / (4 * np.pi)
    wave_m = np.pi * np.sqrt(2 * excess_m2 / _ERROR)
    return (
        f'the area "{area.name}" is taken as a disc of the same size, '
        f"{2e3 * np.sqrt(polygon.area / np.pi):.2f} mm across; {outside:.0%} of the area lies "
        f"outside it. The force on a mode is {_ERROR:.0%} too large where its waves along the area "
        f"are {wave_m * 1e3:.3g} mm long, and less for longer ones, by the square."
    )
