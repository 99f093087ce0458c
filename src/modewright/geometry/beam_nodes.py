"""Where a free bar along x stands still in its lowest bending: from its sections, as a thin beam.

Enough to say where cords or pads belong, and smooth in every dimension. Shear and rotary inertia
are left out, and so are attached masses.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.polynomial.legendre import leggauss
from scipy.linalg import eigh
from scipy.optimize import brentq
from shapely import LineString, Polygon

from modewright.errors import GeometryError
from modewright.geometry.measures import bounding_box_m
from modewright.geometry.planar import loop_polygon, outline_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank

__all__ = ["bending_nodes_m"]


def _gauss(count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Gauss points and weights on [0, 1]."""
    points, weights = leggauss(count)
    return (1 + np.asarray(points, dtype=float)) / 2, np.asarray(weights, dtype=float) / 2


_ELEMENTS = 60
# Three Gauss points along each piece; eight across each strip of metal.
_ALONG_SHARES, _ALONG_WEIGHTS = _gauss(3)
_ACROSS_SHARES, _ACROSS_WEIGHTS = _gauss(8)
_RIGID = 2
_SAME_M = 1e-9


def bending_nodes_m(blank: Blank) -> tuple[float, float]:
    """Places of both nodes of the lowest bending of a free bar.

    Parameters
    ----------
    blank : Blank
        Long in x; its hold does not count.

    Returns
    -------
    tuple of two floats
        x of each, rising. [m]

    Raises
    ------
    GeometryError
        If the body is bent, or its lowest bending has not just two nodes.

    References
    ----------
    Beam elements with cubic shapes: Zienkiewicz & Taylor, The Finite Element Method, 4th ed.,
    vol. 2, ch. 1 (from memory).
    """
    if blank.bends:
        raise GeometryError(
            "support: expected a straight bar for own_nodes, got a bent one.",
            hint="Give from_ends instead.",
        )
    stations = _stations_m(blank)
    stiffness, mass = _matrices(blank, stations)
    _, vectors = eigh(stiffness, mass, subset_by_index=[_RIGID, _RIGID])
    height, slope = vectors[::2, 0], vectors[1::2, 0]
    found: list[float] = []
    for number in np.nonzero(height[1:] * height[:-1] < 0)[0]:
        run = float(stations[number + 1] - stations[number])
        ends = np.array(
            [height[number], run * slope[number], height[number + 1], run * slope[number + 1]]
        )
        share = _crossing(ends)
        found.append(float(stations[number]) + share * run)
    if len(found) != 2:
        raise GeometryError(
            f"support: expected a bar whose lowest bending has two nodes, got {len(found)}.",
            hint="Give from_ends instead of own_nodes.",
        )
    return found[0], found[1]


def _crossing(ends: NDArray[np.float64]) -> float:
    """Share of a piece at which it passes zero, from its heights and its slopes by shares."""

    def height(share: float) -> float:
        return float(_cubics(share) @ ends)

    return float(brentq(height, 0.0, 1.0, xtol=1e-13))


def _cubics(s: float) -> NDArray[np.float64]:
    """Values of the four cubics of a piece at a share of its length."""
    return np.array(
        [1 - 3 * s**2 + 2 * s**3, s - 2 * s**2 + s**3, 3 * s**2 - 2 * s**3, s**3 - s**2]
    )


def _curvatures(s: float) -> NDArray[np.float64]:
    return np.array([12 * s - 6, 6 * s - 4, 6 - 12 * s, 6 * s - 2])


def _matrices(
    blank: Blank, stations: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Stiffness and mass of a beam of unit modulus and density, height and slope by turns."""
    body = outline_polygon(blank.outline)
    pockets = [
        (loop_polygon(pocket.loop), pocket.thickness_m, pocket.side) for pocket in blank.pockets
    ]
    stiffness, mass = np.zeros((2, 2 * len(stations), 2 * len(stations)))
    for number, run in enumerate(np.diff(stations)):
        scale = np.array([1.0, run, 1.0, run])
        some = slice(2 * number, 2 * number + 4)
        for place, weight in zip(_ALONG_SHARES, _ALONG_WEIGHTS, strict=True):
            x = float(stations[number] + place * run)
            area, inertia = _section(blank, body, pockets, x)
            bent = _curvatures(float(place)) * scale / run**2
            moved = _cubics(float(place)) * scale
            stiffness[some, some] += weight * run * inertia * np.outer(bent, bent)
            mass[some, some] += weight * run * area * np.outer(moved, moved)
    return stiffness, mass


def _stations_m(blank: Blank) -> NDArray[np.float64]:
    """Ends of the pieces: wherever widths or thicknesses have corners, and evenly in between."""
    low, high = bounding_box_m(blank.outline.outer)
    start, end = float(low[0]), float(high[0])
    loops = [blank.outline.outer, *blank.outline.holes, *(p.loop for p in blank.pockets)]
    corners = [loop.vertices_m[:, 0] for loop in loops]
    if blank.relief is not None:
        corners.append(np.asarray(blank.relief.kinks_m, dtype=float))
    every = np.sort(np.clip(np.concatenate([[start, end], *corners]), start, end))
    every = every[np.append(True, np.diff(every) > _SAME_M)]
    most = (end - start) / _ELEMENTS
    places: list[float] = []
    for a, b in pairwise(every.tolist()):
        count = int(np.ceil((b - a) / most))
        places += [a + (b - a) * step / count for step in range(count)]
    return np.array([*places, end])


def _section(
    blank: Blank, body: Polygon, pockets: list[tuple[Polygon, float, str]], x: float
) -> tuple[float, float]:
    """Area of a section, and its second moment about the level of its own centre."""
    low, high = bounding_box_m(blank.outline.outer)
    cut = LineString([(x, low[1] - _SAME_M), (x, high[1] + _SAME_M)])
    sums = np.zeros(3)
    strips: list[tuple[float, float]] = []
    metal = body.intersection(cut)
    edges = [shapely.get_coordinates(shape.intersection(cut))[:, 1] for shape, _, _ in pockets]
    for part in shapely.get_parts(metal):
        ends = shapely.get_coordinates(part)[:, 1]
        inner = [y for some in edges for y in some if ends.min() < y < ends.max()]
        bounds = np.unique([ends.min(), *inner, ends.max()])
        strips += list(zip(bounds[:-1].tolist(), bounds[1:].tolist(), strict=True))
    for bottom_y, top_y in strips:
        y = bottom_y + _ACROSS_SHARES * (top_y - bottom_y)
        points = np.stack([np.full_like(y, x), y], axis=1)
        bottom, top = _faces_m(blank, pockets, points)
        shares = _ACROSS_WEIGHTS * (top_y - bottom_y)
        sums += [float(shares @ (top**n - bottom**n)) / n for n in (1, 2, 3)]
    return float(sums[0]), float(sums[2] - sums[1] ** 2 / sums[0])


def _faces_m(
    blank: Blank, pockets: list[tuple[Polygon, float, str]], points: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Heights of both faces at places of the metal, pockets included, shape (2, places)."""
    faces = blank.faces_m(points)
    for shape, left_m, side in pockets:
        inside = shapely.contains_xy(shape, points[:, 0], points[:, 1])
        if side == "top":
            faces[1, inside] = np.minimum(faces[1, inside], left_m)
        else:
            faces[0, inside] = np.maximum(faces[0, inside], blank.thickness_m - left_m)
    return faces
