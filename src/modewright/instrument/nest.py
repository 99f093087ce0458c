"""Lay blanks on sheets: each as far to the left, then as low, as the others allow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon, STRtree, affinity

from modewright.checks import frozen_array
from modewright.errors import SheetError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.instrument.sheet import BlankSheet

__all__ = ["Placement", "nest"]

_ANGLES_RAD = {
    "none": (0.0,),
    "half turns": (0.0, math.pi),
    "quarter turns": (0.0, math.pi, math.pi / 2, 3 * math.pi / 2),
}
_CHUNK = 256
_SLIDES = 14
_FEW, _RASTER = 40, 40
# Distances that differ by less are the same.
_SAME_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where a blank lies: turned about the origin of its own axes, then moved.

    Parameters
    ----------
    sheet : int
        Number of the sheet, from 0.
    angle_rad : float
        [rad]
    offset_m : tuple of two floats
        From the lower left corner of the sheet. [m]
    """

    sheet: int
    angle_rad: float
    offset_m: tuple[float, float]

    def placed(self, outline: Polygon) -> Polygon:
        """The blank on its sheet. [m]"""
        turned = affinity.rotate(outline, self.angle_rad, origin=(0, 0), use_radians=True)
        return affinity.translate(turned, *self.offset_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Turned:
    """A blank turned, with the lower left corner of its box at the origin."""

    angle_rad: float
    corner_m: tuple[float, float]
    size_m: tuple[float, float]
    vertices_m: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices_m", frozen_array(self.vertices_m))

    def at(self, corner_m: NDArray[np.float64]) -> NDArray[np.object_]:
        """Outlines with the lower left corners of their boxes at places, shape (places, 2)."""
        return np.asarray(shapely.polygons(self.vertices_m + corner_m[:, None, :]))


def nest(outlines: Sequence[Polygon], sheet: BlankSheet) -> tuple[Placement, ...]:
    """Lay blanks on as many sheets as they need.

    Parameters
    ----------
    outlines : sequence of Polygon
        Outer contour of each blank; holes do not matter. [m]
    sheet : BlankSheet

    Returns
    -------
    tuple of Placement
        In the order of the outlines.

    Raises
    ------
    SheetError
        If a blank does not fit on an empty sheet.

    Notes
    -----
    Largest first. Each is tried where its box would touch the rim, or the box of one that lies
    already, in either direction; of the places that keep the distance from every contour, the one
    whose far end lies nearest to the left edge is taken, then the lowest, and the blank is pushed
    left and down until it meets a contour. Deterministic.

    References
    ----------
    B. S. Baker, E. G. Coffman and R. L. Rivest, Orthogonal packings in two dimensions, SIAM J.
    Comput. 9 (1980) 846: the bottom-left rule, for boxes; from memory.
    """
    order = sorted(range(len(outlines)), key=lambda i: -outlines[i].area)
    sheets: list[list[Polygon]] = []
    found: dict[int, Placement] = {}
    for i in order:
        turned = [_turned(outlines[i], angle) for angle in _ANGLES_RAD[sheet.turns]]
        for number in range(len(sheets) + 1):
            lying = sheets[number] if number < len(sheets) else []
            best = _best(turned, lying, sheet)
            if best is not None:
                break
            if not lying:
                raise _too_large(turned[0], sheet)
        else:
            raise AssertionError("an empty sheet takes the blank or refuses it")
        one, corner_m = best
        offset_m = (corner_m[0] - one.corner_m[0], corner_m[1] - one.corner_m[1])
        found[i] = Placement(sheet=number, angle_rad=one.angle_rad, offset_m=offset_m)
        if number == len(sheets):
            sheets.append([])
        sheets[number].append(Polygon(one.vertices_m + np.array(corner_m)))
    return tuple(found[i] for i in range(len(outlines)))


def _turned(outline: Polygon, angle_rad: float) -> _Turned:
    turned = affinity.rotate(outline, angle_rad, origin=(0, 0), use_radians=True)
    low_x, low_y, high_x, high_y = turned.bounds
    vertices = np.asarray(turned.exterior.coords) - np.array([low_x, low_y])
    return _Turned(
        angle_rad=angle_rad,
        corner_m=(low_x, low_y),
        size_m=(high_x - low_x, high_y - low_y),
        vertices_m=vertices,
    )


def _too_large(one: _Turned, sheet: BlankSheet) -> SheetError:
    room = [(side - 2 * sheet.rim_m) * 1e3 for side in (sheet.length_m, sheet.width_m)]
    return SheetError(
        f"sheet: expected room for every blank, got {room[0]:.1f} by {room[1]:.1f} mm inside the "
        f"rim for one of {one.size_m[0] * 1e3:.1f} by {one.size_m[1] * 1e3:.1f} mm.",
        hint="Take a larger sheet, allow turns, or begin with a smaller [family].",
    )


def _best(
    turned: Sequence[_Turned], lying: Sequence[Polygon], sheet: BlankSheet
) -> tuple[_Turned, tuple[float, float]] | None:
    """Turn and corner of the box that lie farthest to the left; None if there is no room."""
    tree = STRtree(lying)
    best: tuple[tuple[float, float], _Turned, tuple[float, float]] | None = None
    for one in turned:
        corner = _leftmost(one, lying, tree, sheet)
        if corner is None:
            continue
        key = (round(corner[0] + one.size_m[0], 9), round(corner[1], 9))
        if best is None or key < best[0]:
            best = (key, one, corner)
    return None if best is None else (best[1], best[2])


def _leftmost(
    one: _Turned, lying: Sequence[Polygon], tree: STRtree, sheet: BlankSheet
) -> tuple[float, float] | None:
    places = _corners(one, lying, sheet)
    for start in range(0, len(places), _CHUNK):
        chunk = places[start : start + _CHUNK]
        free = _is_free(one, chunk, tree, sheet)
        if free.any():
            x, y = chunk[int(np.argmax(free))]
            return _pushed(one, (float(x), float(y)), tree, sheet)
    return None


def _corners(one: _Turned, lying: Sequence[Polygon], sheet: BlankSheet) -> NDArray[np.float64]:
    """Corners of boxes to try, leftmost and lowest first.

    They touch the rim or another box; while few blanks lie on the sheet a raster is tried as well,
    which finds places where contours reach into each other.
    """
    bounds = np.array([blank.bounds for blank in lying]).reshape(-1, 4)
    room_m = (sheet.length_m, sheet.width_m)
    x, y = (
        _steps(bounds[:, [axis, axis + 2]], room_m[axis] - one.size_m[axis], sheet)
        for axis in (0, 1)
    )
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    return grid.reshape(-1, 2)


def _steps(bounds_m: NDArray[np.float64], room_m: float, sheet: BlankSheet) -> NDArray[np.float64]:
    """Places along one axis, rising."""
    rim, farthest = sheet.rim_m, room_m - sheet.rim_m
    if farthest < rim - _SAME_M:
        return np.zeros(0)
    few = 0 < len(bounds_m) <= _FEW
    raster = np.linspace(rim, farthest, _RASTER) if few else np.zeros(0)
    beside = bounds_m[:, 1] + sheet.distance_m
    steps = np.unique(np.concatenate([[rim], beside, bounds_m[:, 0], raster]))
    return steps[steps <= farthest + _SAME_M]


def _is_free(
    one: _Turned, corners_m: NDArray[np.float64], tree: STRtree, sheet: BlankSheet
) -> NDArray[np.bool_]:
    """Whether a blank at each place keeps its distance from all that lie already."""
    free = np.ones(len(corners_m), dtype=bool)
    within = max(sheet.distance_m - _SAME_M, 0.0)
    hits = tree.query(one.at(corners_m), predicate="dwithin", distance=within)
    free[hits[0]] = False
    return free


def _pushed(
    one: _Turned, corner_m: tuple[float, float], tree: STRtree, sheet: BlankSheet
) -> tuple[float, float]:
    """Push a blank to the left, then down, as far as it goes without passing another."""
    for axis in (0, 1):
        room = corner_m[axis] - sheet.rim_m
        # Steps are halved, so that the way is looked at before its end.
        step = room / 2
        for _ in range(_SLIDES):
            trial = list(corner_m)
            trial[axis] -= step
            inside = trial[axis] >= sheet.rim_m - _SAME_M
            if inside and bool(_is_free(one, np.array([trial]), tree, sheet)[0]):
                corner_m = (trial[0], trial[1])
            else:
                step /= 2
    return corner_m
