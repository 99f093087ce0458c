"""How the corners of the plane's regions move when the body changes.

A corner of a curve moves with the curve. Where two curves cross, or one ends on another, only the
motion normal to each is given; the place moves so that it stays on both. The edge of the metal has
the last word: where the edge of a pocket or of a held area lies on it, it goes with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from modewright.geometry.flatten import flatten_alike
from modewright.geometry.measures import bounding_box_m
from modewright.modes.regions import footprint_polygon

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.geometry.loop import Loop
    from modewright.modes.body_change import BodyChange
    from modewright.modes.regions import PlaneRegions

__all__ = ["corner_rates"]

# Corners of regions are rounded to 10 nm; ends of held edges may lie a little off the outline.
_ON_CURVE_M = 3e-8
_FAR = 4.0
_NEAR_CURVE_M = 6e-6
# Later wishes are met as far as earlier ones leave freedom.
_WEIGHTS = {"metal": 1.0, "other": 1e-4, "along": 1e-8}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Curve:
    """Polygon that stands for a curve and how its corners move.

    Parameters
    ----------
    corners_m : float array, shape (corners, 2)
    rates : float array, shape (corners, 2, changes)
    is_closed, is_metal : bool
    """

    corners_m: NDArray[np.float64]
    rates: NDArray[np.float64]
    is_closed: bool
    is_metal: bool

    @property
    def ends(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Numbers of the corners at which the pieces start and end."""
        first = np.arange(len(self.corners_m))
        second = np.roll(first, -1)
        return (first, second) if self.is_closed else (first[:-1], second[:-1])


def corner_rates(
    regions: PlaneRegions, blank: Blank, changes: Sequence[BodyChange], sagitta_m: float
) -> NDArray[np.float64]:
    """Motion of every corner of the regions per unit of each parameter.

    Parameters
    ----------
    regions : PlaneRegions
        Of the blank, cut with this sagitta.
    blank : Blank
    changes : sequence of BodyChange
        Of that blank.
    sagitta_m : float
        [m]

    Returns
    -------
    float array, shape (corners, 2, changes)
        [m per unit of the parameter]

    Raises
    ------
    GeometryError
        If a change turns lines into arcs or makes or removes corners.
    """
    curves = list(_curves(blank, changes, sagitta_m))
    contacts = [_contacts(curve, regions.nodes_m) for curve in curves]
    rates = np.zeros((len(regions.nodes_m), 2, len(changes)))
    for node in range(len(regions.nodes_m)):
        rates[node] = _settled(node, curves, contacts)
    return rates


def _curves(blank: Blank, changes: Sequence[BodyChange], sagitta_m: float) -> Iterator[_Curve]:
    for number in range(1 + len(blank.outline.holes)):
        yield _loop_curve(
            [_outline(b)[number] for b in _all(blank, changes)], changes, sagitta_m, is_metal=True
        )
    for number in range(len(blank.pockets)):
        loops = [b.pockets[number].loop for b in _all(blank, changes)]
        yield _loop_curve(loops, changes, sagitta_m, is_metal=False)
    for number in range(len(blank.masses)):
        prints = [footprint_polygon(b.masses[number]) for b in _all(blank, changes)]
        yield _curve(prints, changes, is_closed=True, is_metal=False)
    for number in range(0 if blank.relief is None else len(blank.relief.kinks_m)):
        yield _curve(
            [_kink_line(b, number) for b in _all(blank, changes)],
            changes, is_closed=False, is_metal=False,
        )  # fmt: skip
    yield from _bend_lines(blank, changes)
    if blank.hold is None:
        return
    holds = [b.hold for b in _all(blank, changes) if b.hold is not None]
    for number in range(len(blank.hold.areas)):
        yield _loop_curve([h.areas[number] for h in holds], changes, sagitta_m, is_metal=False)
    # Round ones lie on the outline, whose curves are above.
    for number in blank.hold.straight_edges:
        pieces = [np.array(h.edges_m[number]) for h in holds]
        yield _curve(pieces, changes, is_closed=False, is_metal=False)


def _all(blank: Blank, changes: Sequence[BodyChange]) -> list[Blank]:
    """The blank itself, then below and above by turns."""
    return [blank, *(b for change in changes for b in (change.lower, change.upper))]


def _bend_lines(blank: Blank, changes: Sequence[BodyChange]) -> Iterator[_Curve]:
    """Both lines at which each bend begins and ends."""
    reach_m = _FAR * float(np.ptp(blank.outline.outer.vertices_m, axis=0).max())
    for number in range(len(blank.bends)):
        bands = [
            shapely.get_coordinates(b.bends[number].band(b.thickness_m, reach_m))
            for b in _all(blank, changes)
        ]
        for first in (0, 2):
            yield _curve(
                [band[first : first + 2] for band in bands],
                changes, is_closed=False, is_metal=False,
            )  # fmt: skip


def _kink_line(blank: Blank, number: int) -> NDArray[np.float64]:
    """Line across the body at which a face has a kink."""
    if blank.relief is None:
        raise ValueError("blank: expected one with a relief")
    low, high = bounding_box_m(blank.outline.outer)
    x = blank.relief.kinks_m[number]
    return np.array([[x, low[1]], [x, high[1]]])


def _outline(blank: Blank) -> tuple[Loop, ...]:
    return (blank.outline.outer, *blank.outline.holes)


def _loop_curve(
    loops: list[Loop], changes: Sequence[BodyChange], sagitta_m: float, *, is_metal: bool
) -> _Curve:
    model = loops[0]
    polygons = [flatten_alike(loop, model, sagitta_m) for loop in loops]
    return _curve(polygons, changes, is_closed=True, is_metal=is_metal)


def _curve(
    polygons: list[NDArray[np.float64]],
    changes: Sequence[BodyChange],
    *,
    is_closed: bool,
    is_metal: bool,
) -> _Curve:
    here, *pairs = polygons
    rates = [
        (upper - lower) / (2 * change.step)
        for lower, upper, change in zip(pairs[::2], pairs[1::2], changes, strict=True)
    ]
    none = np.zeros((*here.shape, 0))
    return _Curve(
        corners_m=here,
        rates=np.stack(rates, axis=-1) if rates else none,
        is_closed=is_closed,
        is_metal=is_metal,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Contacts:
    """The nearest place of a curve to every node: its piece, how far along it, how far away."""

    piece: NDArray[np.int64]
    share: NDArray[np.float64]
    distance_m: NDArray[np.float64]


def _contacts(curve: _Curve, nodes_m: NDArray[np.float64]) -> _Contacts:
    first, second = curve.ends
    start, run = curve.corners_m[first], curve.corners_m[second] - curve.corners_m[first]
    squared = np.maximum((run**2).sum(axis=1), np.finfo(float).tiny)
    away = nodes_m[:, None, :] - start
    share = np.clip((away * run).sum(axis=2) / squared, 0.0, 1.0)
    distance = np.linalg.norm(away - share[..., None] * run, axis=2)
    piece = distance.argmin(axis=1)
    rows = np.arange(len(nodes_m))
    return _Contacts(piece=piece, share=share[rows, piece], distance_m=distance[rows, piece])


def _settled(node: int, curves: list[_Curve], contacts: list[_Contacts]) -> NDArray[np.float64]:
    """Motion of one node that keeps it on its curves, shape (2, changes)."""
    distances = np.array([contact.distance_m[node] for contact in contacts])
    reach = _ON_CURVE_M if distances.min() < _ON_CURVE_M else _NEAR_CURVE_M
    if distances.min() > reach:
        raise ValueError("regions and blank: expected every corner on a curve of the blank")
    rows: list[NDArray[np.float64]] = []
    wanted: list[NDArray[np.float64]] = []
    for number in np.nonzero(distances <= reach)[0]:
        for row, value in _wishes(curves[number], contacts[number], node):
            rows.append(row)
            wanted.append(value)
    settled = np.linalg.lstsq(np.array(rows), np.array(wanted), rcond=None)[0]
    return np.asarray(settled, dtype=np.float64)


def _wishes(
    curve: _Curve, contacts: _Contacts, node: int
) -> Iterator[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Weighted directions in which the node should move, and by how much."""
    first, second = curve.ends
    piece, share = contacts.piece[node], contacts.share[node]
    a, b = first[piece], second[piece]
    run = curve.corners_m[b] - curve.corners_m[a]
    length = float(np.hypot(run[0], run[1]))
    rate = (1 - share) * curve.rates[a] + share * curve.rates[b]
    weight = _WEIGHTS["metal" if curve.is_metal else "other"]
    is_corner = min(share, 1 - share) * length < _ON_CURVE_M
    along = weight if is_corner else _WEIGHTS["along"]
    directions = np.eye(2) if is_corner else np.array([[-run[1], run[0]], run]) / length
    for direction, strength in zip(directions, (weight, along), strict=True):
        yield strength * direction, strength * (direction @ rate)
