"""From plates to a whole board: plates and guards above, leads below, connector, screws, coupon."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shapely import Point, Polygon, box
from shapely.ops import unary_union

from modewright.fabrication.board.clearance import clearance_m
from modewright.fabrication.board.coupon import Coupon, lay_coupon
from modewright.fabrication.board.guards import guard_via, lower_guards, upper_guard
from modewright.fabrication.board.leads import Lead, corridor_m, lay_leads
from modewright.fabrication.board.model import (
    Board,
    BoardPlate,
    Copper,
    Disc,
    Hole,
    Net,
    Side,
    disc_copper,
    parts_of,
)
from modewright.fabrication.board.vents import drilled_shield, lay_vents, vented
from modewright.geometry.corners import circle
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from collections.abc import Sequence

    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["lay_out_board"]

_FIDUCIAL_M = 1.0e-3
_ROUTER_M = 2.0e-3
_ROUND = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class _Head:
    """The part of the board past the end of the sheet. [m]"""

    low_m: tuple[float, float]
    high_m: tuple[float, float]
    screws: tuple[Disc, ...]
    fiducials: tuple[Disc, ...]


def lay_out_board(
    name: str,
    plates: Sequence[BoardPlate],
    sheet: Polygon,
    settings: BoardSettings,
    *,
    gap_m: float,
    tilt: tuple[float, float],
) -> Board:
    """Lay out the board of some plates that lie in one plane.

    Parameters
    ----------
    name : str
    plates : sequence of BoardPlate
        At least one.
    sheet : Polygon
        The body in plan: connector and screws keep clear of it. [m]
    settings : BoardSettings
    gap_m : float
        Of the first plate. [m]
    tilt : tuple of two floats

    Returns
    -------
    Board
        Not yet checked.

    Raises
    ------
    BoardError
        If a plate has no room for its hole or a lead none for itself.
    """
    shapes = [_plate_hull(plate) for plate in plates]
    end_x = max(area.bounds[2] for area in (sheet, *shapes))
    start_x = end_x + settings.end_distance_m
    leads = lay_leads(plates, start_x, settings)
    vias = [guard_via(lead, settings) if lead.plate.guard else None for lead in leads]
    volts = max(abs(plate.bias_v) for plate in plates)
    space_m = max(clearance_m(volts, settings.altitude), settings.smallest_space_m)
    coupon = _placed_coupon(leads, space_m, settings)
    head = _head(leads, coupon, start_x, space_m, settings)
    vents = _vents(leads, vias, settings)
    copper = [
        *_lead_copper(leads, vias, vents, settings),
        *coupon.copper,
        *(_fiducial(number, disc) for number, disc in enumerate(head.fiducials, 1)),
    ]
    return Board(
        name=name,
        outline=_outline(leads, vias, head, settings),
        copper=tuple(copper),
        holes=(
            *_holes(leads, vias, settings),
            *(Hole(disc=disc, net=None, kind="vent") for own in vents for disc in own),
            *_screws(head),
        ),
        openings=_openings(leads, head, coupon, settings),
        plates=tuple(
            _without_vents(lead.plate, own) for lead, own in zip(leads, vents, strict=True)
        ),
        gap_m=gap_m,
        tilt=tilt,
        pins=tuple(pin for lead in leads for pin in _pins(lead)),
    )


def _plate_hull(plate: BoardPlate) -> Polygon:
    """Plate and guard with all between them. [m]"""
    return loop_polygon(plate.loop) if plate.ring is None else Polygon(plate.ring.exterior)


def _nets(plate: BoardPlate) -> tuple[Net, Net]:
    """Net of the plate and of its guard."""
    plate_net = Net(name=f"{plate.name} plate", owner=plate.name, voltage_v=plate.bias_v)
    return plate_net, Net(name=f"{plate.name} guard", owner=plate.name, voltage_v=plate.bias_v)


def _vents(
    leads: Sequence[Lead], vias: Sequence[Disc | None], settings: BoardSettings
) -> list[tuple[Disc, ...]]:
    """Holes through each plate, clear of all leads and lined holes."""
    discs = [disc for disc in vias if disc is not None] + [lead.via for lead in leads]
    lined = [loop_polygon(circle(disc.centre_m, disc.diameter_m)) for disc in discs]
    others = unary_union([*lined, *(lead.core for lead in leads)])
    return [lay_vents(lead.plate, others, settings) for lead in leads]


def _without_vents(plate: BoardPlate, vents: tuple[Disc, ...]) -> BoardPlate:
    drilled_m2 = sum(math.pi / 4 * vent.diameter_m**2 for vent in vents)
    return replace(plate, area_m2=plate.area_m2 - drilled_m2)


def _plate_copper(lead: Lead, vents: tuple[Disc, ...]) -> Copper:
    own, _ = _nets(lead.plate)
    area, loop = loop_polygon(lead.plate.loop), lead.plate.loop
    if not vents:
        return Copper(net=own, role="plate", side="top", area=area, loop=loop)
    return Copper(net=own, role="plate", side="top", area=vented(area, vents))


def _lead_copper(
    leads: Sequence[Lead],
    vias: Sequence[Disc | None],
    vents: Sequence[tuple[Disc, ...]],
    settings: BoardSettings,
) -> list[Copper]:
    """Plates, guards, leads and pins."""
    copper: list[Copper] = []
    below = lower_guards(leads, vias, settings)
    every = tuple(vent for own in vents for vent in own)
    for lead, via, drilled, guards in zip(leads, vias, vents, below, strict=True):
        own, guard = _nets(lead.plate)
        copper += [
            _plate_copper(lead, drilled),
            Copper(net=own, role="lead", side="bottom", area=lead.core),
            disc_copper(own, "pin", "top", lead.pin),
        ]
        if via is None or lead.guard_pin is None:
            continue
        copper += [
            Copper(net=guard, role="guard", side="top", area=upper_guard(lead, via)),
            *(
                Copper(net=guard, role="guard", side="bottom", area=part)
                for part in drilled_shield(guards, every, via, settings)
            ),
            disc_copper(guard, "pin", "top", lead.guard_pin),
        ]
    return copper


def _fiducial(number: int, disc: Disc) -> Copper:
    name = f"fiducial {number}"
    return disc_copper(Net(name=name, owner=name, voltage_v=0.0), "fiducial", "top", disc)


def _holes(
    leads: Sequence[Lead], vias: Sequence[Disc | None], settings: BoardSettings
) -> list[Hole]:
    holes: list[Hole] = []
    for lead, via in zip(leads, vias, strict=True):
        own, guard = _nets(lead.plate)
        holes.append(Hole(disc=_drilled(lead.via, settings.via_hole_m), net=own, kind="via"))
        holes.append(Hole(disc=_drilled(lead.pin, settings.pin_hole_m), net=own, kind="pin"))
        if via is not None:
            holes.append(Hole(disc=_drilled(via, settings.via_hole_m), net=guard, kind="via"))
        if lead.guard_pin is not None:
            pin = _drilled(lead.guard_pin, settings.pin_hole_m)
            holes.append(Hole(disc=pin, net=guard, kind="pin"))
    return holes


def _drilled(copper: Disc, diameter_m: float) -> Disc:
    return Disc(centre_m=copper.centre_m, diameter_m=diameter_m)


def _screws(head: _Head) -> list[Hole]:
    return [Hole(disc=disc, net=None, kind="screw") for disc in head.screws]


def _pins(lead: Lead) -> list[tuple[str, tuple[float, float]]]:
    own, guard = _nets(lead.plate)
    pins = [(own.name, lead.pin.centre_m)]
    return pins if lead.guard_pin is None else [*pins, (guard.name, lead.guard_pin.centre_m)]


def _placed_coupon(leads: Sequence[Lead], space_m: float, settings: BoardSettings) -> Coupon:
    """The coupon, right of the connector and level with its middle."""
    heights = [y for lead in leads for _, (_, y) in _pins(lead)]
    middle = (min(heights) + max(heights)) / 2
    right = leads[0].pin.centre_m[0] + settings.pin_pad_m / 2
    right += max(corridor_m(lead.plate, settings) for lead in leads) + space_m
    coupon = lay_coupon((right, 0.0), space_m, settings)
    return lay_coupon((right, middle - coupon.size_m[1] / 2), space_m, settings)


def _head(
    leads: Sequence[Lead],
    coupon: Coupon,
    start_x: float,
    space_m: float,
    settings: BoardSettings,
) -> _Head:
    ways = [
        area.buffer(corridor_m(lead.plate, settings))
        for lead in leads
        for area in (
            box(*lead.core.bounds).intersection(box(start_x, -1.0, 1.0, 1.0)),
            *([] if lead.guard_pin is None else [_round(lead.guard_pin)]),
        )
    ]
    content = unary_union([*ways, *(copper.area for copper in coupon.copper)])
    _, low_y, right_x, high_y = content.bounds
    edge, radius = settings.edge_distance_m, settings.screw_head_m / 2
    rows = (low_y - space_m - radius, high_y + space_m + radius)
    right_x = max(right_x, start_x + 2 * settings.screw_head_m + 8 * _FIDUCIAL_M)
    columns = (start_x + radius, right_x - radius)
    middle = (start_x + right_x) / 2
    marks = [(middle, rows[0]), (middle - _ROUTER_M, rows[1]), (middle + _ROUTER_M, rows[1])]
    return _Head(
        low_m=(start_x - edge, rows[0] - radius - edge),
        high_m=(right_x + edge, rows[1] + radius + edge),
        screws=tuple(
            Disc(centre_m=(x, y), diameter_m=settings.screw_hole_m) for y in rows for x in columns
        ),
        fiducials=tuple(Disc(centre_m=mark, diameter_m=_FIDUCIAL_M) for mark in marks),
    )


def _round(disc: Disc, more_m: float = 0.0) -> Polygon:
    return Point(disc.centre_m).buffer(disc.diameter_m / 2 + more_m, _ROUND)


def _outline(
    leads: Sequence[Lead], vias: Sequence[Disc | None], head: _Head, settings: BoardSettings
) -> Polygon:
    """Head and tongues under the plates, slots too narrow for the router closed. [m]"""
    if settings.outline_m:
        return Polygon(settings.outline_m)
    parts: list[Polygon] = [box(*head.low_m, *head.high_m)]
    for lead, via in zip(leads, vias, strict=True):
        areas = [_plate_hull(lead.plate), *([] if via is None else [_round(via)])]
        left, low, _, high = unary_union(areas).bounds
        edge = settings.edge_distance_m
        way = corridor_m(lead.plate, settings)
        low = min(low, lead.path_m[0][1] - way)
        high = max(high, lead.path_m[0][1] + way)
        parts.append(box(left - edge, low - edge, head.low_m[0], high + edge))
    half = _ROUTER_M / 2
    closed = unary_union(parts).buffer(half, join_style="mitre").buffer(-half, join_style="mitre")
    # A slot of just the router's width leaves a spike that buffering back cuts into the parts.
    return parts_of(unary_union([closed, *parts]))[0]


def _openings(
    leads: Sequence[Lead], head: _Head, coupon: Coupon, settings: BoardSettings
) -> dict[Side, tuple[Polygon, ...]]:
    """Where the mask is left out: whole faces of plates and guards, pins, marks, probes."""
    more = settings.mask_opening_m
    pins = [
        _round(disc, more)
        for lead in leads
        for disc in (lead.pin, *([] if lead.guard_pin is None else [lead.guard_pin]))
    ]
    faces = [_plate_hull(lead.plate).buffer(more, join_style="mitre") for lead in leads]
    marks = [_round(disc, disc.diameter_m / 2) for disc in head.fiducials]
    probes = [pad.buffer(more, join_style="mitre") for pad in coupon.pads]
    # Openings that meet are one.
    top = parts_of(unary_union([*faces, *pins, *marks, *probes]))
    return {"top": tuple(top), "bottom": tuple(parts_of(unary_union(pins)))}
