"""Strips of which a sheet consists: the whole of it, or its arms, with their motion along them.

The sheet, its holes filled, is cut across at stations. Pieces of neighbouring stations that meet
one to one form a strip; where one piece meets several, it parts into arms.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.plan_view import PlanView
    from modewright.modes.sheet_shapes import SheetShapes

__all__ = [
    "Strip",
    "StripMotion",
    "are_plain_arms",
    "arms_of",
    "stem_motion",
    "strip_motion",
    "whole_strip",
]

STATIONS = 60
# An arm is at least this long, in shares of the body; anything shorter is a notch or a stub.
_ARM_SHARE = 0.25
_PLACES = 7
_SLIM = 0.5
# A strip whose middle line leaves the straight by more than this share of its width, in the mean,
# turns a corner or runs round: what is bending at one end is torsion at the other.
_CROOKED = 0.12
# An arm that lies more askew than this (27 degrees) is no strip along the box.
_ASKEW = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """A strip from its root to its tip, or from end to end.

    Parameters
    ----------
    station_m : float array, shape (stations,)
        Places along the box, from the root to the tip. [m]
    sides_m : float array, shape (stations, 2)
        Its lower and upper side across the box. [m]
    """

    station_m: NDArray[np.float64]
    sides_m: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "station_m", frozen_array(self.station_m))
        object.__setattr__(self, "sides_m", frozen_array(self.sides_m))

    @property
    def is_straight(self) -> bool:
        """Whether it runs straight on, and about along the box."""
        middle = self.sides_m.mean(axis=1)
        run, rise = self.station_m - self.station_m.mean(), middle - middle.mean()
        slope = float(run @ rise / (run @ run))
        away = rise - slope * run
        width = float(np.ptp(self.sides_m, axis=1).mean())
        crooked = float(np.sqrt(away @ away / len(away)))
        return abs(slope) < _ASKEW and crooked < _CROOKED * width


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripMotion:
    """How a strip moves, station by station.

    Parameters
    ----------
    place : float array, shape (stations,)
        From 0 at the root to 1 at the tip; stations without enough metal are left out.
    width_m : float array, shape (stations,)
        [m]
    mean : float array, shape (stations, 3, modes)
        Mean displacement along, across and normal. [1/sqrt(kg)]
    tilt : float array, shape (stations, modes)
        Half the difference of the normal displacement of its two sides. [1/sqrt(kg)]
    square : float array, shape (stations, 3, modes)
        Mean square of the displacement in each direction. [1/kg]
    """

    place: NDArray[np.float64]
    width_m: NDArray[np.float64]
    mean: NDArray[np.float64]
    tilt: NDArray[np.float64]
    square: NDArray[np.float64]


def whole_strip(plan: PlanView) -> Strip:
    """The whole sheet as one strip, from end to end."""
    rows = _rows(plan)
    return Strip(
        station_m=_stations(plan),
        sides_m=np.array([[row[0][0], row[-1][1]] for row in rows]),
    )


def arms_of(plan: PlanView) -> tuple[Strip, ...]:
    """Arms along the box, by their place across it; none unless there are at least two."""
    rows = _rows(plan)
    found = _parted(rows)
    # An arm that points the other way parts from the body as seen from the other end.
    last = len(rows) - 1
    backwards = _parted(rows[::-1])
    found += [[(last - station, piece) for station, piece in arm] for arm in backwards]
    if len(found) < 2:
        return ()
    stations = _stations(plan)
    strips = [
        Strip(
            station_m=stations[[station for station, _ in arm]],
            sides_m=np.array([rows[station][piece] for station, piece in arm]),
        )
        for arm in found
    ]
    strips = [strip for strip in strips if _is_slim(strip)]
    if len(strips) < 2:
        return ()
    return tuple(sorted(strips, key=lambda s: (float(s.sides_m.mean()), float(s.station_m[0]))))


def are_plain_arms(plan: PlanView, arms: tuple[Strip, ...]) -> bool:
    """Whether arms run straight from a common root to free tips, so that their names are sure.

    Parameters
    ----------
    plan : PlanView
    arms : tuple of Strip
        From `arms_of`.

    Returns
    -------
    bool
        Not so where a strip winds to and fro and one of its runs is held at its end.
    """
    return all(arm.is_straight and not _is_held_at_tip(plan, arm) for arm in arms)


def _is_held_at_tip(plan: PlanView, arm: Strip) -> bool:
    reach = 2 * plan.length_m / STATIONS
    low, high = arm.sides_m[-1]
    for piece in plan.held_m:
        is_near = np.abs(piece[:, 0] - arm.station_m[-1]).min() < reach
        if is_near and piece[:, 1].min() < high and piece[:, 1].max() > low:
            return True
    return False


def _is_slim(strip: Strip) -> bool:
    """Whether an arm is longer than half its width: the shoulders of a step are none."""
    width = float(np.abs(np.diff(strip.sides_m, axis=1)).mean())
    return float(np.ptp(strip.station_m)) > _SLIM * width


def _stations(plan: PlanView) -> NDArray[np.float64]:
    return plan.length_m * (np.arange(STATIONS) + 0.5) / STATIONS


_Row = list[tuple[float, float]]
_Arm = list[tuple[int, int]]


def _rows(plan: PlanView) -> list[_Row]:
    """At each station the pieces of the filled sheet across it: lower and upper end, rising."""
    low, high = -plan.width_m, 2 * plan.width_m
    cuts = shapely.linestrings([[(x, low), (x, high)] for x in _stations(plan)])
    pieces, stations = shapely.get_parts(shapely.intersection(cuts, plan.filled), return_index=True)
    # The stubs leave the extra arguments of bounds open.
    ends = shapely.bounds(pieces)[:, [1, 3]]  # pyright: ignore[reportUnknownMemberType]
    rows: list[_Row] = [[] for _ in range(STATIONS)]
    numbers: list[int] = stations.tolist()
    for station, (start, end) in zip(numbers, ends.tolist(), strict=True):
        # Nothing across the sheet has no bounds.
        if end > start:
            rows[station].append((start, end))
    return [sorted(row) for row in rows]


def _parted(rows: list[_Row]) -> list[_Arm]:
    """Runs of pieces, each a station and a number in its row, that lead from a parting to a tip."""
    below = [_links(row, following) for row, following in zip(rows, [*rows[1:], []], strict=True)]
    least = round(_ARM_SHARE * len(rows))
    arms: list[_Arm] = []
    for station, links in enumerate(below):
        for following in links:
            if len(following) < 2:
                continue
            runs = [_run((station + 1, piece), below) for piece in following]
            arms += [run for run in runs if len(run) >= least]
    return arms


def _links(row: _Row, following: _Row) -> list[list[int]]:
    """For each piece of a row those of the following row that it meets."""
    return [
        [i for i, (low, high) in enumerate(following) if low < end and high > start]
        for start, end in row
    ]


def _run(first: tuple[int, int], below: list[list[list[int]]]) -> _Arm:
    """Pieces from here to the tip; empty if the run parts again, or runs into another."""
    run = [first]
    while True:
        station, piece = run[-1]
        following = below[station][piece]
        shared = [p for p, linked in enumerate(below[station]) if set(linked) & set(following)]
        if len(shared) > 1:
            return []
        if len(following) > 1:
            # A notch at the tip does not make two arms of one.
            parts = [len(_run((station + 1, part), below)) for part in following]
            return run if max(parts) < round(_ARM_SHARE * len(below)) else []
        if not following:
            return run
        run.append((station + 1, following[0]))


def strip_motion(plan: PlanView, strip: Strip, shapes: SheetShapes) -> StripMotion:
    """Read how a strip moves in every mode.

    Parameters
    ----------
    plan : PlanView
    strip : Strip
    shapes : SheetShapes

    Returns
    -------
    StripMotion
    """
    lever = 2 * (np.arange(_PLACES) + 0.5) / _PLACES - 1
    middle, half = strip.sides_m.mean(axis=1), np.ptp(strip.sides_m, axis=1) / 2
    across = middle[:, None] + half[:, None] * lever
    places = np.stack(np.broadcast_arrays(strip.station_m[:, None], across), axis=-1)
    is_metal = plan.is_on_sheet(places)
    # Two unknowns of the mean and the tilt need more places than that.
    keep = is_metal.sum(axis=1) > 2
    is_metal, places = is_metal[keep], places[keep]
    weight = is_metal / is_metal.sum(axis=1, keepdims=True)
    moved = np.zeros((*is_metal.shape, 3, shapes.mode_count))
    moved[is_metal] = plan.motion(shapes, places[is_metal])
    # A straight line through the normal displacement of the places that are metal.
    centre = weight @ lever
    arm = lever - centre[:, None]
    spread = np.einsum("sp,sp,sp->s", weight, arm, arm)
    mean = np.einsum("sp,spcm->scm", weight, moved)
    tilt = np.einsum("sp,sp,spm->sm", weight, arm, moved[:, :, 2]) / spread[:, None]
    mean[:, 2] -= centre[:, None] * tilt
    run = strip.station_m - strip.station_m[0]
    place = (np.abs(run) + np.abs(run[1]) / 2) / (np.abs(run[-1]) + np.abs(run[1]))
    return StripMotion(
        place=place[keep],
        width_m=2 * half[keep],
        mean=mean,
        tilt=tilt,
        square=np.einsum("sp,spcm->scm", weight, moved**2),
    )


def stem_motion(plan: PlanView, arm: Strip, shapes: SheetShapes) -> NDArray[np.float64]:
    """Displacement on the way to the root of an arm, in line with it.

    Returns
    -------
    float array, shape (stations, 3, modes)
        Along, across and normal, from the end of the box to the arm. [1/sqrt(kg)]
    """
    stations = _stations(plan)
    if arm.station_m[0] > arm.station_m[-1]:
        stations = stations[::-1]
    before = stations[: int(np.argmin(np.abs(stations - arm.station_m[0])))]
    in_line = np.stack([before, np.full(len(before), arm.sides_m[0].mean())], axis=1)
    return plan.motion(shapes, in_line[plan.is_on_sheet(in_line)])
