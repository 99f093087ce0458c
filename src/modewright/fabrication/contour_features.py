"""What a metal worker measures on a contour: stops, arms, slots, radii, holes. Millimetres."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from shapely import affinity

from modewright.geometry.arcs import arc_of, segments
from modewright.geometry.measures import bounding_box_m, signed_area_m2
from modewright.geometry.planar import outline_polygon
from modewright.modes.plan_view import PlanView
from modewright.modes.strips import arms_of, whole_strip

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.arcs import Arc
    from modewright.geometry.blank import Outline
    from modewright.geometry.loop import Loop
    from modewright.modes.strips import Strip

__all__ = [
    "ArmSize",
    "Radius",
    "Round",
    "Slot",
    "arms_and_slots",
    "radii",
    "round_hole",
    "stops",
    "taper_mm",
]

_SAME_MM = 0.01
# Straight pieces shorter than this, and arcs that turn by less than 80 degrees, stop nothing.
_SHORTEST_MM = 0.5
_TURN_RAD = math.radians(80)
_SAME_CENTRE_M = 1e-8
_LEAN_RAD = 1e-4
# Sides are straight if no width away from the ends is farther than this from a straight course.
_STRAIGHT_MM = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class ArmSize:
    """An arm, along x or y.

    Parameters
    ----------
    axis : int
        0 along x, 1 along y.
    root_mm, tip_mm : float
        Where it begins, at the deeper of the slots beside it, and where it ends.
    sides_mm : tuple of two floats
        Its sides half way.
    width_mm : tuple of two floats
        Width near the root and near the tip, across the arm.
    lean_deg : float
        Angle between the axis and the middle line of the arm.
    """

    axis: int
    root_mm: float
    tip_mm: float
    sides_mm: tuple[float, float]
    width_mm: tuple[float, float]
    lean_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """What parts two neighbouring arms; `width_mm` is None if they do not run along it."""

    axis: int
    root_mm: float
    width_mm: float | None
    middle_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Radius:
    """Arcs of one radius that are all outer, or all inner, corners."""

    radius_mm: float
    is_inner: bool
    count: int
    first_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """A round hole, or one with round ends.

    Parameters
    ----------
    centre_mm : tuple of two floats
    width_mm, length_mm : float
        Equal for a round hole.
    angle_deg : float
        Of the longer direction from the x axis, 0 to 180.
    """

    centre_mm: tuple[float, float]
    width_mm: float
    length_mm: float
    angle_deg: float


def stops(loop: Loop, axis: int) -> list[tuple[float, float]]:
    """Places along an axis at which the contour has an edge across it or a round end.

    Parameters
    ----------
    loop : Loop
    axis : int
        0 for places along x, 1 for y.

    Returns
    -------
    list of (float, float)
        Rising place, and the lowest place of that edge on the other axis.
    """
    found: list[tuple[float, float]] = []
    for start_m, end_m, bulge in segments(loop):
        start, end = start_m * 1e3, end_m * 1e3
        run = np.abs(end - start)
        if bulge == 0 and run[axis] < _SAME_MM and run[1 - axis] > _SHORTEST_MM:
            found.append((float(start[axis]), float(min(start[1 - axis], end[1 - axis]))))
    for arc in _whole_arcs(loop):
        if abs(arc.angle_rad) < _TURN_RAD:
            continue
        for way in (0.0, math.pi):
            ahead = _ahead(arc, way + axis * math.pi / 2)
            # An arc that begins or ends there runs into a straight edge, or into another arc.
            if 1e-6 < ahead < abs(arc.angle_rad) - 1e-6:
                place = arc.at(ahead / abs(arc.angle_rad)) * 1e3
                found.append((float(place[axis]), float(place[1 - axis])))
    return _distinct(found)


def _ahead(arc: Arc, direction_rad: float) -> float:
    """Angle from the start of an arc to the place that lies in this direction of its centre."""
    return (direction_rad - arc.start_rad) * math.copysign(1, arc.angle_rad) % (2 * math.pi)


def _whole_arcs(loop: Loop) -> list[Arc]:
    """Arcs of a loop, those that go on round the same centre as one."""
    runs: list[Arc | None] = [
        None if bulge == 0 else arc_of(start, end, bulge) for start, end, bulge in segments(loop)
    ]
    # Begin behind something that ends an arc, so that none is cut in two by the start of the list.
    first = next((i for i in range(len(runs)) if not _goes_on(runs[i - 1], runs[i])), 0)
    whole: list[Arc] = []
    before: Arc | None = None
    for arc in (*runs[first:], *runs[:first]):
        if arc is not None and before is not None and _goes_on(before, arc):
            whole[-1] = replace(whole[-1], angle_rad=whole[-1].angle_rad + arc.angle_rad)
        elif arc is not None:
            whole.append(arc)
        before = arc
    return whole


def _goes_on(first: Arc | None, second: Arc | None) -> bool:
    if first is None or second is None or first.angle_rad * second.angle_rad < 0:
        return False
    return float(np.hypot(*(first.centre_m - second.centre_m))) < _SAME_CENTRE_M


def highest(loop: Loop, axis: int) -> tuple[float, float]:
    """Farthest place along an axis, and the lowest such place on the other axis. [mm]"""
    corners = _corners(loop)
    farthest = float(corners[:, axis].max())
    there = corners[corners[:, axis] > farthest - _SAME_MM]
    return farthest, float(there[:, 1 - axis].min())


def _distinct(found: list[tuple[float, float]]) -> list[tuple[float, float]]:
    result: list[tuple[float, float]] = []
    for place, other in sorted(found):
        if result and place - result[-1][0] < _SAME_MM:
            result[-1] = (result[-1][0], min(result[-1][1], other))
        else:
            result.append((place, other))
    return result


def arms_and_slots(outline: Outline) -> tuple[list[ArmSize], list[Slot]]:
    """Arms by their place across, and the slots between neighbours that point the same way."""
    plan, low_m = _plan(outline)
    corners = _corners(outline.outer)
    for axis, view in enumerate((plan, plan.turned())):
        arms = arms_of(view)
        if arms:
            seen = corners[:, ::-1] if axis else corners
            corner = low_m[::-1] if axis else low_m
            return _measured([_moved(arm, corner) for arm in arms], seen, axis)
    return [], []


def taper_mm(outline: Outline, axis: int) -> tuple[float, float] | None:
    """Widths at both ends of a body with straight sides, corners not rounded; None for any other.

    Parameters
    ----------
    outline : Outline
    axis : int
        0 along x, 1 along y.
    """
    plan, _ = _plan(outline)
    strip = whole_strip(plan.turned() if axis else plan)
    width = np.ptp(strip.sides_m, axis=1) * 1e3
    # Away from the ends, where corners may be rounded.
    skipped = len(width) // 5
    inner = width[skipped : len(width) - skipped]
    place = np.arange(len(inner)) - (len(inner) - 1) / 2
    slope, middle = float(place @ inner / (place @ place)), float(inner.mean())
    if np.abs(middle + slope * place - inner).max() > _STRAIGHT_MM:
        return None
    half = slope * len(width) / 2
    return middle - half, middle + half


def _plan(outline: Outline) -> tuple[PlanView, NDArray[np.float64]]:
    """The outline in the box round it, and the lower left corner of that. [m]"""
    low_m, high_m = bounding_box_m(outline.outer)
    plan = PlanView(
        body=affinity.translate(outline_polygon(outline), -low_m[0], -low_m[1]),
        held_m=np.zeros((0, 2, 2)),
        corner_m=low_m,
        axes=np.eye(2),
        length_m=float(high_m[0] - low_m[0]),
        width_m=float(high_m[1] - low_m[1]),
    )
    return plan, low_m


def _corners(loop: Loop) -> NDArray[np.float64]:
    """Vertices, and where arcs reach farthest along x or y. [mm]"""
    found = [*loop.vertices_m]
    for start, end, bulge in segments(loop):
        if bulge != 0:
            arc = arc_of(start, end, bulge)
            for quarter in (0.0, math.pi / 2, math.pi, 1.5 * math.pi):
                ahead = _ahead(arc, quarter)
                if ahead < abs(arc.angle_rad):
                    found.append(arc.at(ahead / abs(arc.angle_rad)))
    return np.array(found) * 1e3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Course:
    """Stations and sides of an arm. [mm]"""

    station: NDArray[np.float64]
    sides: NDArray[np.float64]


def _moved(arm: Strip, corner_m: NDArray[np.float64]) -> _Course:
    return _Course(
        station=(arm.station_m + corner_m[0]) * 1e3, sides=(arm.sides_m + corner_m[1]) * 1e3
    )


def _measured(
    arms: list[_Course], corners: NDArray[np.float64], axis: int
) -> tuple[list[ArmSize], list[Slot]]:
    slots: list[Slot] = []
    roots: dict[int, list[float]] = {i: [] for i in range(len(arms))}
    for i, (arm, other) in enumerate(itertools.pairwise(arms)):
        if _sense(arm) != _sense(other):
            continue
        low, high = float(arm.sides[0, 1]), float(other.sides[0, 0])
        root = _reach(corners, (low, high), arm, -_sense(arm), near=float(arm.station[0]))
        middle = min(len(arm.station), len(other.station)) // 2
        low, high = float(arm.sides[middle, 1]), float(other.sides[middle, 0])
        is_straight = max(abs(_lean_rad(arm)), abs(_lean_rad(other))) < _LEAN_RAD
        slots.append(
            Slot(
                axis=axis,
                root_mm=root,
                width_mm=high - low if is_straight else None,
                middle_mm=(low + high) / 2,
            )
        )
        roots[i].append(root)
        roots[i + 1].append(root)
    sizes: list[ArmSize] = []
    for i, arm in enumerate(arms):
        sense, count = _sense(arm), len(arm.station)
        tip = _reach(corners, tuple(arm.sides[-1]), arm, sense, near=float(arm.station[-1]))
        # An arm without a neighbour that points its way begins where it parts from the body.
        root = min(roots[i], key=lambda place: sense * place) if roots[i] else arm.station[0]
        near, far = count // 5, count - 1 - count // 5
        lean = _lean_rad(arm)
        width = np.ptp(arm.sides[[near, far]], axis=1) * math.cos(lean)
        sizes.append(
            ArmSize(
                axis=axis,
                root_mm=float(root),
                tip_mm=tip,
                sides_mm=(float(arm.sides[count // 2, 0]), float(arm.sides[count // 2, 1])),
                width_mm=(float(width[0]), float(width[1])),
                lean_deg=math.degrees(lean),
            )
        )
    return sizes, slots


def _lean_rad(arm: _Course) -> float:
    near, far = len(arm.station) // 5, len(arm.station) - 1 - len(arm.station) // 5
    middle = arm.sides.mean(axis=1)
    return math.atan((middle[far] - middle[near]) / (arm.station[far] - arm.station[near]))


def _sense(arm: _Course) -> int:
    return 1 if arm.station[-1] > arm.station[0] else -1


def _reach(
    corners: NDArray[np.float64],
    across: tuple[float, float],
    arm: _Course,
    sense: int,
    *,
    near: float,
) -> float:
    """Farthest corner in a sense, between two sides, within a station of a place."""
    low, high = across
    step = abs(float(arm.station[1] - arm.station[0]))
    slack = 0.1 * (high - low)
    is_between = (corners[:, 1] > low - slack) & (corners[:, 1] < high + slack)
    is_near = np.abs(corners[:, 0] - near) < 1.5 * step
    places = corners[is_between & is_near, 0]
    return sense * float(np.max(sense * places, initial=sense * near))


def radii(outline: Outline) -> list[Radius]:
    """Radii of the contour, smallest first, without those of round holes and of a round body."""
    is_round = round_hole(outline.outer) is not None and len(outline.outer.bulge) == 2
    loops = [] if is_round else [outline.outer]
    loops += [hole for hole in outline.holes if round_hole(hole) is None]
    seen: dict[tuple[float, bool], list[NDArray[np.float64]]] = {}
    for loop in loops:
        sense = math.copysign(1, signed_area_m2(loop))
        for arc in _whole_arcs(loop):
            is_inner = (arc.angle_rad * sense < 0) != (loop is not outline.outer)
            seen.setdefault((round(arc.radius_m * 1e3, 4), is_inner), []).append(arc.at(0.5) * 1e3)
    return [
        Radius(
            radius_mm=radius,
            is_inner=is_inner,
            count=len(places),
            first_mm=(float(places[0][0]), float(places[0][1])),
        )
        for (radius, is_inner), places in sorted(seen.items(), key=lambda item: item[0])
    ]


def round_hole(loop: Loop) -> Round | None:
    """A circle, or two half circles joined by two lines; None for any other curve."""
    pieces = list(segments(loop))
    arcs = [arc_of(a, b, bulge) for a, b, bulge in pieces if bulge != 0]
    lines = [b - a for a, b, bulge in pieces if bulge == 0]
    if not arcs or np.ptp([arc.radius_m for arc in arcs]) > 1e-8:
        return None
    centres = np.array([arc.centre_m for arc in arcs]) * 1e3
    width = 2e3 * arcs[0].radius_m
    spread = centres - centres[0]
    apart = float(np.hypot(spread[:, 0], spread[:, 1]).max())
    if not lines and apart < 1e3 * _SAME_CENTRE_M:
        x, y = centres[0].tolist()
        return Round(centre_mm=(x, y), width_mm=width, length_mm=width, angle_deg=0.0)
    are_halves = all(abs(abs(arc.angle_rad) - math.pi) < 1e-6 for arc in arcs)
    if len(lines) != 2 or len(arcs) != 2 or not are_halves:
        return None
    x, y = centres.mean(axis=0).tolist()
    run = centres[1] - centres[0]
    angle = math.degrees(math.atan2(run[1], run[0])) % 180
    return Round(centre_mm=(x, y), width_mm=width, length_mm=width + apart, angle_deg=angle)
