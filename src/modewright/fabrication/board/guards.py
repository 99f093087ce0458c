"""Guards: the ring on the upper face, and what goes with the lead on the lower one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import LineString, Point, Polygon
from shapely.ops import unary_union

from modewright.fabrication.board.clearance import clearance_m
from modewright.fabrication.board.leads import PASS_M, Lead
from modewright.fabrication.board.model import Disc, parts_of
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["guard_via", "lower_guards", "upper_guard"]

# How finely the ring is searched for the place of its hole.
_STEP_M = 0.1e-3
_ROUND = 16


def guard_via(lead: Lead, settings: BoardSettings) -> Disc:
    """Copper round the hole that joins both faces of the guard, as far from the lead as may be.

    Raises
    ------
    ValueError
        If the plate has no guard.
    """
    guard = lead.plate.guard
    if guard is None:
        raise ValueError(f"{lead.plate.name}: expected a plate with a guard, got none")
    out_m = guard.gap_m + max(guard.width_m, settings.via_pad_m) / 2
    course = loop_polygon(lead.plate.loop).buffer(out_m).exterior
    best = max(map(Point, course.segmentize(_STEP_M).coords), key=lead.core.distance)
    return Disc(centre_m=(best.x, best.y), diameter_m=settings.via_pad_m)


def upper_guard(lead: Lead, via: Disc) -> Polygon:
    """Ring round the plate with the copper of its hole. [m]

    Raises
    ------
    ValueError
        If the plate has no guard.
    """
    if lead.plate.ring is None:
        raise ValueError(f"{lead.plate.name}: expected a plate with a guard, got none")
    pad = Point(via.centre_m).buffer(via.diameter_m / 2, _ROUND)
    return parts_of(unary_union([lead.plate.ring, pad]))[0]


def lower_guards(
    leads: Sequence[Lead], vias: Sequence[Disc | None], settings: BoardSettings
) -> list[list[Polygon]]:
    """Guard of each lead on the lower face: under its plate and on both sides of the lead.

    Parameters
    ----------
    leads : sequence of Lead
    vias : sequence of Disc or None
        Of the guards; None for a plate without one.
    settings : BoardSettings

    Returns
    -------
    list of list of Polygon
        One list for each lead; what is not joined to the guard is left out. [m]
    """
    ways = [_way(lead, settings) for lead in leads]
    found: list[list[Polygon]] = []
    for number, (lead, via) in enumerate(zip(leads, vias, strict=True)):
        if via is None or lead.plate.ring is None:
            found.append([])
            continue
        others = [
            _kept_off(other, way, lead, settings)
            for k, (other, way) in enumerate(zip(leads, ways, strict=True))
            if k != number
        ]
        shield = Polygon(lead.plate.ring.exterior).difference(unary_union(others))
        pad = Point(via.centre_m).buffer(via.diameter_m / 2, _ROUND)
        whole = unary_union([shield, ways[number], pad])
        copper = whole.difference(lead.core.buffer(PASS_M, _ROUND))
        # An opening removes slivers that the board house could not etch.
        thin_m = settings.smallest_track_m / 2
        clean = copper.buffer(-thin_m, _ROUND).buffer(thin_m, _ROUND)
        found.append([part for part in parts_of(clean) if part.intersects(pad)])
    return found


def _way(lead: Lead, settings: BoardSettings) -> BaseGeometry:
    """Room of a lead with its guard, the guard's pin among it."""
    if lead.guard_pin is None:
        return lead.core
    side_m = PASS_M + settings.lead_width_m
    bridge = LineString([lead.pin.centre_m, lead.guard_pin.centre_m])
    return unary_union(
        [
            lead.core.buffer(side_m, _ROUND),
            bridge.buffer(settings.lead_width_m, _ROUND),
            Point(lead.guard_pin.centre_m).buffer(lead.guard_pin.diameter_m / 2, _ROUND),
        ]
    )


def _kept_off(other: Lead, way: BaseGeometry, lead: Lead, settings: BoardSettings) -> BaseGeometry:
    volts = max(abs(other.plate.bias_v), abs(lead.plate.bias_v))
    space_m = max(clearance_m(volts, settings.altitude), settings.smallest_space_m)
    # A little more, since round corners are cut by chords.
    return way.buffer(1.02 * space_m, _ROUND)
