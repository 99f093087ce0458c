"""Leads from the plates to the connector, on the lower face, none across another.

Every lead runs level to the right from a hole in its plate, turns once, and ends at its pin. Leads
and pins are in the same order from below; those that turn upwards turn the earlier the higher they
are, those that turn downwards the earlier the lower, so that none meets another.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from shapely import LineString, Point, Polygon, box
from shapely.ops import unary_union

from modewright.fabrication.board.clearance import clearance_m
from modewright.fabrication.board.faults import BoardError
from modewright.fabrication.board.model import BoardPlate, Disc, parts_of
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from collections.abc import Sequence

    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["PASS_M", "Lead", "corridor_m", "lay_leads"]

PASS_M = 0.3e-3
"""Space between a lead and the guard that runs along with it. [m]"""

_FAR_M = 10.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lead:
    """Way from a plate to its pin.

    Parameters
    ----------
    plate : BoardPlate
    via : Disc
        Copper round the hole in the plate.
    pin : Disc
        Copper round the connector's pin.
    guard_pin : Disc or None
        The same of the guard's pin.
    path_m : tuple of tuple of two floats
        Corners of the lead. [m]
    core : Polygon
        All copper of the lead on the lower face. [m]
    """

    plate: BoardPlate
    via: Disc
    pin: Disc
    guard_pin: Disc | None
    path_m: tuple[tuple[float, float], ...]
    core: Polygon


def corridor_m(plate: BoardPlate, settings: BoardSettings) -> float:
    """Half of the width that a lead takes with the guard on both sides. [m]"""
    half_m = settings.lead_width_m / 2
    return half_m + PASS_M + settings.lead_width_m if plate.guard else half_m


def lay_leads(
    plates: Sequence[BoardPlate], from_x_m: float, settings: BoardSettings
) -> tuple[Lead, ...]:
    """Lay the leads of all plates.

    Parameters
    ----------
    plates : sequence of BoardPlate
    from_x_m : float
        Where the leads may begin to turn. [m]
    settings : BoardSettings

    Returns
    -------
    tuple of Lead
        From the lowest pin up.

    Raises
    ------
    BoardError
        If a plate has no room for a hole, or the leads none beside each other.
    """
    ordered = sorted(plates, key=lambda plate: loop_polygon(plate.loop).centroid.y)
    room = [_room_for_via(plate, settings) for plate in ordered]
    lanes = _lanes(ordered, room, settings)
    places = _pin_places(ordered, lanes, settings)
    step_m = max(_pitch(a, b, settings) for a in ordered for b in ordered)
    turns, last_x = _turns(lanes, [pin[1] for pin, _ in places], from_x_m, step_m)
    pin_x = last_x + step_m + settings.pin_pad_m
    leads: list[Lead] = []
    for plate, area, lane, turn, (pin_y, guard_y) in zip(
        ordered, room, lanes, turns, [(p[1], g) for p, g in places], strict=True
    ):
        via_x = _right_end(area, lane)
        path = ((via_x, lane), (turn, lane), (turn, pin_y), (pin_x, pin_y))
        via = Disc(centre_m=path[0], diameter_m=settings.via_pad_m)
        pin = Disc(centre_m=path[-1], diameter_m=settings.pin_pad_m)
        guard_pin = None
        if guard_y is not None:
            guard_pin = Disc(centre_m=(pin_x, guard_y), diameter_m=settings.pin_pad_m)
        track = LineString(path).buffer(settings.lead_width_m / 2, cap_style="flat")
        ends = [Point(d.centre_m).buffer(d.diameter_m / 2, 32) for d in (via, pin)]
        core = parts_of(unary_union([track, *ends]))[0]
        leads.append(
            Lead(plate=plate, via=via, pin=pin, guard_pin=guard_pin, path_m=path, core=core)
        )
    return tuple(leads)


def _room_for_via(plate: BoardPlate, settings: BoardSettings) -> Polygon:
    """Where the middle of the hole in a plate may lie. [m]"""
    room = loop_polygon(plate.loop).buffer(-settings.via_pad_m / 2)
    parts = [part for part in getattr(room, "geoms", [room]) if part.area > 0]
    if not parts:
        raise BoardError(
            f"{plate.name}: expected a plate with room for a hole with copper of "
            f"{settings.via_pad_m * 1e3:.3g} mm round it, got a narrower one.",
            hint="Make the plate wider, or via_pad in [board] smaller.",
        )
    return max(parts, key=lambda part: part.area)


def _pitch(first: BoardPlate, second: BoardPlate, settings: BoardSettings) -> float:
    """Least distance of two leads. [m]"""
    volts = max(abs(first.bias_v), abs(second.bias_v))
    space_m = max(clearance_m(volts, settings.altitude), settings.smallest_space_m)
    # The hole's copper is wider than the lead.
    wide_m = max(0.0, settings.via_pad_m - settings.lead_width_m)
    return corridor_m(first, settings) + corridor_m(second, settings) + space_m + wide_m


def _lanes(
    plates: Sequence[BoardPlate], room: Sequence[Polygon], settings: BoardSettings
) -> list[float]:
    """Level of each lead, as near to the middle of its plate as the others let it. [m]"""
    steps = [_pitch(a, b, settings) for a, b in pairwise(plates)]
    lowest = [room[0].bounds[1]]
    for area, step in zip(room[1:], steps, strict=True):
        lowest.append(max(area.bounds[1], lowest[-1] + step))
    highest = [room[-1].bounds[3]]
    for area, step in zip(room[-2::-1], steps[::-1], strict=True):
        highest.insert(0, min(area.bounds[3], highest[0] - step))
    lanes: list[float] = []
    for plate, area, low, high in zip(plates, room, lowest, highest, strict=True):
        if low > high:
            raise BoardError(
                f"{plate.name}: expected room for its lead beside the others, got none at the "
                "level of the plate.",
                hint="Move the plates apart across the sheet, or make lead_width smaller.",
            )
        least = low if not lanes else max(low, lanes[-1] + steps[len(lanes) - 1])
        lanes.append(min(max(area.centroid.y, least), high))
    return lanes


def _right_end(area: Polygon, level_m: float) -> float:
    """Farthest place to the right in an area at this level. [m]"""
    cut = area.intersection(box(-_FAR_M, level_m - 1e-9, _FAR_M, level_m + 1e-9))
    return float(cut.bounds[2])


def _pin_places(
    plates: Sequence[BoardPlate], lanes: Sequence[float], settings: BoardSettings
) -> list[tuple[tuple[float, float], float | None]]:
    """Heights of the pins of each plate and its guard, with one place left out after each."""
    slots: list[tuple[int, int | None]] = []
    count = 0
    for plate in plates:
        slots.append((count, count + 1 if plate.guard else None))
        count += 3 if plate.guard else 2
    middle = sum(lanes) / len(lanes)
    first = middle - (count - 2) / 2 * settings.pin_pitch_m

    def at(slot: int) -> float:
        return first + slot * settings.pin_pitch_m

    return [((0.0, at(own)), None if guard is None else at(guard)) for own, guard in slots]


def _turns(
    lanes: Sequence[float], pins: Sequence[float], from_x_m: float, step_m: float
) -> tuple[list[float], float]:
    """Where each lead turns, and the last of these places. [m]"""
    up = [i for i, (lane, pin) in enumerate(zip(lanes, pins, strict=True)) if pin > lane]
    down = [i for i in range(len(lanes)) if i not in up]
    turns = [0.0] * len(lanes)
    for order in (up[::-1], down):
        for place, i in enumerate(order):
            turns[i] = from_x_m + (place + 0.5) * step_m
    return turns, max(turns)
