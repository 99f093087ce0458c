"""Stations along the rim of a gap: how far plate or sheet reach beyond it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["RimStations", "walk_rim"]

_ALONG = 32
_OUTSIDE_M = 2e-6
# Straight pieces of a flattened curve are put together while they stay so near to it.
_STRAIGHT_M = 1e-6
_REACH = 4.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RimStations:
    """Places along the rim of the area in which plate and sheet face each other.

    Parameters
    ----------
    point_m : float array, shape (stations, 2)
        Just inside the rim. [m]
    length_m : float array, shape (stations,)
        Rim that each stands for. [m]
    sheet_beyond_m, plate_beyond_m : float array, shape (stations,)
        How far the sheet goes on outwards, and how far the plate does; one of them is 0. Where the
        other one comes back, as behind a slot, half of the way to it. [m]
    is_slot : bool array, shape (stations,)
        Whether the other one comes back.
    turn_per_m : float array, shape (stations,)
        Angle by which the rim turns per length, its corners included; below 0 where it is
        hollow. [rad/m]
    corners_per_m : float array, shape (stations,)
        The same turn in right angles, without those corners at which an edge of the plate crosses
        one of the sheet. [1/m]
    crossings_per_m : float array, shape (stations,)
        Such crossings per length. [1/m]
    """

    point_m: NDArray[np.float64]
    length_m: NDArray[np.float64]
    sheet_beyond_m: NDArray[np.float64]
    plate_beyond_m: NDArray[np.float64]
    is_slot: NDArray[np.bool_]
    turn_per_m: NDArray[np.float64]
    corners_per_m: NDArray[np.float64]
    crossings_per_m: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            value = getattr(self, name)
            kept = value.copy() if value.dtype == bool else frozen_array(value)
            kept.flags.writeable = False
            object.__setattr__(self, name, kept)

    @property
    def over_slot(self) -> NDArray[np.bool_]:
        """Whether the plate goes on under a slot or hole of the sheet, shape (stations,)."""
        return self.is_slot & (self.plate_beyond_m > 0)


def walk_rim(
    covered: Polygon | MultiPolygon, plate: Polygon, sheet: Polygon | MultiPolygon
) -> RimStations:
    """Walk along the rim of a gap.

    Parameters
    ----------
    covered : Polygon or MultiPolygon
        Where plate and sheet face each other. [m]
    plate, sheet : Polygon
        [m]

    Returns
    -------
    RimStations
    """
    longest_m = covered.length / _ALONG
    sides = [_sides(ring, longest_m) for ring in _rings(covered)]
    start, end, turn = (np.concatenate(parts) for parts in zip(*sides, strict=True))
    before = _before([len(side[0]) for side in sides])
    along = end - start
    length = np.linalg.norm(along, axis=1)
    outward = np.stack([along[:, 1], -along[:, 0]], axis=-1) / length[:, None]
    middle = (start + end) / 2
    just_out = middle + _OUTSIDE_M * outward
    reach_m = _REACH * float(np.hypot(*np.ptp(np.array(plate.exterior.coords), axis=0)))
    far_out = just_out + reach_m * outward
    rays = [LineString(ends) for ends in np.stack([just_out, far_out], axis=1)]
    shapely.prepare([plate, sheet])
    sheet_m, plate_back = _beyond(rays, just_out, sheet, plate)
    plate_m, sheet_back = _beyond(rays, just_out, plate, sheet)
    is_sheet = sheet_m >= plate_m
    crosses = np.sign(sheet_m - plate_m) * np.sign(sheet_m - plate_m)[before] < 0
    corner = np.where(crosses, 0.0, turn / (np.pi / 2))
    return RimStations(
        point_m=middle - _OUTSIDE_M * outward,
        length_m=length,
        sheet_beyond_m=np.where(is_sheet, sheet_m, 0.0),
        plate_beyond_m=np.where(is_sheet, 0.0, plate_m),
        is_slot=np.where(is_sheet, plate_back, sheet_back),
        turn_per_m=_shared(turn, before) / length,
        corners_per_m=_shared(corner, before) / length,
        crossings_per_m=_shared(crosses.astype(np.float64), before) / length,
    )


def _before(counts: list[int]) -> NDArray[np.int64]:
    """Number of the piece before each one round its ring."""
    first = np.repeat(np.cumsum(counts, dtype=np.int64) - counts, counts).astype(np.int64)
    size = np.repeat(counts, counts)
    own = np.arange(len(first)) - first
    return np.asarray(first + (own - 1) % size, dtype=np.int64)


def _shared(at_start: NDArray[np.float64], before: NDArray[np.int64]) -> NDArray[np.float64]:
    """Half of what stands at the start of each piece, and half of what stands at its end."""
    shared = at_start / 2
    shared[before] += at_start / 2
    return shared


def _rings(covered: Polygon | MultiPolygon) -> list[NDArray[np.float64]]:
    """Closed rings with the area on their left."""
    found: list[NDArray[np.float64]] = []
    for part in shapely.get_parts(covered):
        smooth = shapely.simplify(part, _STRAIGHT_M)
        found.append(_turning(shapely.get_coordinates(smooth.exterior), 1.0))
        found += [_turning(shapely.get_coordinates(ring), -1.0) for ring in smooth.interiors]
    return found


def _turning(ring: NDArray[np.float64], sense: float) -> NDArray[np.float64]:
    x, y = ring.T
    is_left = float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])) > 0
    return ring if is_left == (sense > 0) else ring[::-1]


def _sides(
    ring: NDArray[np.float64], longest_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Starts and ends of pieces of a ring, and the turn at each start."""
    side = np.diff(ring, axis=0)
    length = np.linalg.norm(side, axis=1)
    before = np.roll(side, 1, axis=0)
    cross = before[:, 0] * side[:, 1] - before[:, 1] * side[:, 0]
    corner = np.arctan2(cross, np.sum(before * side, axis=1))
    count = np.maximum(1, np.ceil(length / longest_m)).astype(np.int64)
    first = np.cumsum(count) - count
    number = np.arange(int(count.sum())) - np.repeat(first, count)
    size = np.repeat(side / count[:, None], count, axis=0)
    start = np.repeat(ring[:-1], count, axis=0) + number[:, None] * size
    turn = np.zeros(len(start))
    turn[first] = corner
    return start, start + size, turn


def _beyond(
    rays: list[LineString],
    just_out: NDArray[np.float64],
    own: Polygon | MultiPolygon,
    other: Polygon | MultiPolygon,
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """How far `own` goes on along each ray, halfway at most to where `other` begins if it does."""
    found = np.zeros(len(rays))
    comes_back = np.zeros(len(rays), dtype=bool)
    inside = shapely.contains_xy(own, just_out[:, 0], just_out[:, 1])
    for index in np.flatnonzero(inside):
        place = Point(just_out[index])
        outside = rays[index].difference(own)
        end = float("inf") if outside.is_empty else float(place.distance(outside))
        there = rays[index].intersection(other)
        back = float("inf") if there.is_empty else float(place.distance(there)) / 2
        found[index] = min(end, back, rays[index].length) + _OUTSIDE_M
        comes_back[index] = back <= end
    return found, comes_back
