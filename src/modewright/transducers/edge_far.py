"""What sheet and plate reaching beyond each other add to a capacitance, seen from far away.

From afar a narrow gap is a sheet of metal at half the voltage, the part of the sheet beyond the
plate one at none, and a part of the plate beyond the sheet one at all of it. The field of an edge,
solved in a section, knows that only for long straight rims; the plan itself, without its gap, is
solved here once as it is and once as if every piece of rim were such a strip. What they differ by
does not depend on the gap.

References
----------
R. F. Harrington, Field Computation by Moment Methods, 1968, sec. 2-3 (plates from square pieces of
even charge; from memory).
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    from modewright.transducers.edge_walk import RimStations

    Area = Polygon | MultiPolygon

__all__ = ["far_excess_m"]

# Sides of the smallest squares over the width of the strip, how much of the plan is looked at over
# its size, how squares grow away from the rim, and most squares.
_SMALLEST, _REACH, _GROWTH, _MOST = 0.06, 4.0, 0.35, 4000
# The potential goes from one part to the next over so many smallest squares on each side.
_RAMP = 2.0
_NEAR = 3.0
_BEYOND = np.array([0.0, 0.03, 0.1, 0.25, 0.6, 1.5, 4.0, 10.0])
_STRIP_PANELS = 160
_ALIKE_M = 1e-6
# Where the squares lie, over the smallest; a square counts from this share of metal on, and in full
# where as little is missing; what counts less than the last is left out.
_OFF_MIDDLE, _PARTLY, _SLIVER = (0.137, 0.211), 0.2, 1e-4


def far_excess_m(
    covered: Area,
    plate: Area,
    sheet: Area,
    stations: RimStations,
    width_m: float,
    reach_m: float,
) -> float:
    """Capacitance over ε0 beyond that of a row of strips along the rim. [m]

    Parameters
    ----------
    covered, plate, sheet : Polygon or MultiPolygon
        Where both are, and each of them. [m]
    stations : RimStations
        Along the rim.
    width_m : float
        Of the strip that stands for the outline. [m]
    reach_m : float
        How far at most plate or sheet went beyond the rim in the section. [m]

    Returns
    -------
    float
        0 where plate and sheet are alike.
    """
    beyond_m = np.minimum(np.maximum(stations.sheet_beyond_m, stations.plate_beyond_m), reach_m)
    if not beyond_m.any():
        return 0.0
    smallest_m = _smallest_m(covered, width_m)
    plan = _plan_m(covered, plate, sheet, smallest_m)
    ramp_m = smallest_m * _RAMP
    ends_m = np.minimum(_BEYOND * width_m, reach_m)
    strips = [_strip_excess(width_m, float(end), ramp_m) for end in ends_m]
    by_strip = np.interp(beyond_m, ends_m, strips)
    is_slot = stations.over_slot
    if is_slot.any():
        slots = [_slot_excess(width_m, 2 * float(end), ramp_m) for end in ends_m]
        by_strip[is_slot] = np.interp(beyond_m[is_slot], ends_m, slots)
    return plan - float(stations.length_m @ by_strip)


def _smallest_m(covered: Area, width_m: float) -> float:
    """Side of the smallest squares, wider if there were too many of them. [m]"""
    return max(_SMALLEST * width_m, float(np.sqrt(2.5 * covered.area / _MOST)))


@lru_cache(maxsize=64)
def _plan_m(covered: Area, plate: Area, sheet: Area, smallest_m: float) -> float:
    centre, side, counts = _squares(covered, plate.union(sheet), smallest_m)
    wanted = _mean_potential(centre, covered, plate, sheet, smallest_m * _RAMP)
    potential = _square_potential(centre, side)
    potential[np.diag_indices_from(potential)] /= counts
    return _energy(potential, wanted, side**2)


def _squares(
    covered: Area, metal: BaseGeometry, smallest_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Middles, sides, and how much they count as metal, of squares larger away from the rim.

    One that an edge cuts near its middle counts in part: the sum has neither steps nor kinks as
    the edge moves, and slopes can be taken of it.
    """
    x0, y0, x1, y1 = covered.bounds
    size_m = max(x1 - x0, y1 - y0)
    levels = int(np.ceil(np.log2((1 + 2 * _REACH) * size_m / smallest_m)))
    side = smallest_m * 2.0**levels
    # Off the middle, so that round-off has no say where a plan is even.
    centre = np.array([[(x0 + x1) / 2, (y0 + y1) / 2]]) + smallest_m * np.array([_OFF_MIDDLE])
    rim = covered.boundary
    shapely.prepare(metal)
    quarters = np.array([[-1, -1], [1, -1], [-1, 1], [1, 1]]) / 4
    found: list[tuple[NDArray[np.float64], ...]] = []
    for level in range(levels + 1):
        centre = centre[shapely.intersects(metal, _boxes(centre, side))]
        away = _distance_m(rim, centre)
        done = (side <= smallest_m + _GROWTH * away) | (level == levels)
        found.append(
            (
                centre[done],
                np.full(int(np.count_nonzero(done)), side),
                _share(centre[done], side, metal),
            )
        )
        centre = (centre[~done][:, None] + side * quarters).reshape(-1, 2)
        side /= 2
    centre, sides, share = (np.concatenate(parts) for parts in zip(*found, strict=True))
    rise = np.clip((share - _PARTLY) / (1 - 2 * _PARTLY), 0.0, 1.0)
    counts = rise**2 * (3 - 2 * rise)
    is_there = counts > _SLIVER
    return centre[is_there], sides[is_there], counts[is_there]


def _boxes(centre: NDArray[np.float64], side: float) -> NDArray[np.object_]:
    low, high = centre - side / 2, centre + side / 2
    boxes: NDArray[np.object_] = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    return boxes


def _share(centre: NDArray[np.float64], side: float, metal: BaseGeometry) -> NDArray[np.float64]:
    boxes = _boxes(centre, side)
    share = np.ones(len(centre))
    cut = np.flatnonzero(~shapely.covers(metal, boxes))
    share[cut] = [left.area / side**2 for left in shapely.intersection(metal, boxes[cut])]
    return share


def _distance_m(shape: BaseGeometry, places_m: NDArray[np.float64]) -> NDArray[np.float64]:
    shapely.prepare(shape)
    measured = shapely.distance(shape, shapely.points(places_m))  # pyright: ignore[reportUnknownMemberType]
    return np.asarray(measured, dtype=np.float64)


def _mean_potential(
    centre: NDArray[np.float64], covered: Area, plate: Area, sheet: Area, ramp_m: float
) -> NDArray[np.float64]:
    """Between those of both faces: from 0 under the sheet alone to 1 over the plate alone."""
    in_gap = shapely.contains_xy(covered, centre[:, 0], centre[:, 1])
    on_plate = shapely.contains_xy(plate, centre[:, 0], centre[:, 1])
    found = np.full(len(centre), 0.5)
    for own, is_own, change in ((plate, on_plate, 0.5), (sheet, ~on_plate, -0.5)):
        # Rim of the gap beyond which this one goes on.
        rim = covered.boundary.difference(own.boundary.buffer(_ALIKE_M))
        if rim.is_empty:
            continue
        away = _distance_m(rim, centre) / ramp_m
        share = (1 + np.clip(np.where(in_gap, -away, away), -1.0, 1.0)) / 2
        found += change * np.where(in_gap | is_own, share, 0.0)
    return found


def _square_potential(
    centre: NDArray[np.float64], side: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Potential at every middle by each square's unit charge density over ε0. [m]"""
    away = centre[:, None] - centre
    distance = np.linalg.norm(away, axis=-1)
    near = distance < _NEAR * side
    with np.errstate(divide="ignore"):
        matrix = np.where(near, 0.0, side**2 / distance)
    # Not exactly half, so that no middle lies on the line of another square's side.
    half = np.broadcast_to(side / 2, near.shape)[near] * (1 + 1e-9)
    x, y = away[near].T
    matrix[near] = (
        _corner(x + half, y + half)
        - _corner(x - half, y + half)
        - _corner(x + half, y - half)
        + _corner(x - half, y - half)
    )
    return matrix / (4 * np.pi)


def _corner(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """∫∫ dx dy/r from the origin to a corner."""
    return x * np.arcsinh(y / np.abs(x)) + y * np.arcsinh(x / np.abs(y))


def _energy(
    potential: NDArray[np.float64], wanted: NDArray[np.float64], size: NDArray[np.float64]
) -> float:
    """∫ of potential times charge density, no charge being left over in all."""
    total = len(wanted)
    matrix = np.ones((total + 1, total + 1))
    matrix[:total, :total] = potential
    matrix[total, :total] = size
    matrix[total, total] = 0.0
    density = np.linalg.solve(matrix, np.append(wanted, 0.0))[:total]
    return float(np.sum(wanted * density * size))


@lru_cache(maxsize=512)
def _strip_excess(width_m: float, beyond_m: float, ramp_m: float) -> float:
    """The same for one edge of a long strip, per length of it."""
    if beyond_m == 0:
        return 0.0
    half_m = width_m / 2
    nodes = _nodes(half_m, half_m + beyond_m, half_m, ramp_m)
    middle = (nodes[1:] + nodes[:-1]) / 2
    rise = np.clip((middle - half_m) / ramp_m, -1.0, 1.0)
    return _line_energy(nodes, 0.5 + (1 + rise) / 4)


@lru_cache(maxsize=512)
def _slot_excess(width_m: float, slot_m: float, ramp_m: float) -> float:
    """The same for one side of a slot between two strips over a common plate."""
    if slot_m == 0:
        return 0.0
    edge_m = slot_m / 2
    nodes = _nodes(edge_m, width_m + edge_m, edge_m, ramp_m)
    middle = (nodes[1:] + nodes[:-1]) / 2
    rise = np.clip((edge_m - middle) / ramp_m, -1.0, 1.0)
    return _line_energy(nodes, 0.5 + (1 + rise) / 4)


def _nodes(edge_m: float, end_m: float, inner_m: float, ramp_m: float) -> NDArray[np.float64]:
    """Ends of panels from a middle to an end, finer towards an edge and the end."""
    fine_m, outside_m = ramp_m / 12, end_m - edge_m
    inner = _growing(inner_m, min(fine_m, inner_m / 4))
    outer = _growing(outside_m, min(fine_m, outside_m / 4))
    closing = _growing(outside_m / 2, outside_m / 1e4)
    zero = np.zeros(1)
    nodes = np.unique(np.concatenate([edge_m - inner, edge_m + outer, end_m - closing, zero]))
    return nodes[np.diff(nodes, prepend=-end_m) > 1e-7 * end_m]


def _growing(length_m: float, smallest_m: float) -> NDArray[np.float64]:
    course = np.linspace(0.0, float(np.log1p(length_m / smallest_m)), _STRIP_PANELS // 2)
    return smallest_m * np.expm1(course)


def _line_energy(nodes: NDArray[np.float64], wanted: NDArray[np.float64]) -> float:
    """As `_energy` for half of a mirrored strip, per length."""
    middle, length = (nodes[1:] + nodes[:-1]) / 2, np.diff(nodes)

    def logs(shift: NDArray[np.float64]) -> NDArray[np.float64]:
        high, low = shift + length / 2, shift - length / 2
        return -(high * np.log(np.abs(high)) - low * np.log(np.abs(low)) - length) / (2 * np.pi)

    potential = logs(middle[:, None] - middle) + logs(middle[:, None] + middle)
    return _energy(potential, wanted, length)
