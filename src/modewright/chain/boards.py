"""Boards of a design: one for all pickup plates that lie in one plane, each checked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point

from modewright.fabrication.board.faults import BoardError
from modewright.fabrication.board.layout import lay_out_board
from modewright.fabrication.board.model import Board, BoardPlate
from modewright.fabrication.board.remarks import board_remarks
from modewright.fabrication.board.rules import Breach, broken_rules
from modewright.geometry.planar import loop_polygon
from modewright.transducers.guard import guard_ring
from modewright.transducers.underside import Underside, underside_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from modewright.chain.places import PlacedDesign
    from modewright.transducers.capacitive_pickup import CapacitivePickup

__all__ = ["DesignBoards", "boards_of"]

_SAME_PLANE_M = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignBoards:
    """Boards of a design, all rules kept.

    Parameters
    ----------
    boards : tuple of Board
        Empty if the design has no pickup.
    sheet : Polygon
        The body in plan. [m]
    remarks : tuple of str
        What their maker should know.
    """

    boards: tuple[Board, ...]
    sheet: Polygon
    remarks: tuple[str, ...]


def boards_of(placed: PlacedDesign) -> DesignBoards:
    """Lay out and check the boards of a design.

    Parameters
    ----------
    placed : PlacedDesign

    Returns
    -------
    DesignBoards

    Raises
    ------
    BoardError
        With every rule that a board breaks, or what cannot be laid out.
    """
    settings = placed.design.board
    underside = underside_of(placed.blank)
    boards: list[Board] = []
    faults: list[str] = []
    remarks: list[str] = []
    for number, group in enumerate(_planes(placed.design.pickups, underside), 1):
        board = lay_out_board(
            f"board_{number}",
            [_plate(pickup) for pickup in group],
            underside.plan,
            settings,
            gap_m=group[0].gap_m,
            tilt=(group[0].tilt_x, group[0].tilt_y),
        )
        broken = (*broken_rules(board, settings), *_in_the_way(board, placed))
        faults += [f"{board.name}, {breach}" for breach in broken]
        remarks += [f"{board.name}, {remark}" for remark in board_remarks(board, settings)]
        boards.append(board)
    if faults:
        raise BoardError(_fault_text(faults), hint=_HINT)
    return DesignBoards(boards=tuple(boards), sheet=underside.plan, remarks=tuple(remarks))


_HINT = (
    "Change plates, guards or the section [board]; the words before the colons are explained in "
    "docs/guide/artwork.md."
)


def _fault_text(faults: list[str]) -> str:
    lines = "\n".join(f"  {fault}" for fault in faults)
    count = len(faults)
    return f"board: expected every rule kept, got {count} broken:\n{lines}\n"


def _planes(
    pickups: tuple[CapacitivePickup, ...], underside: Underside
) -> list[list[CapacitivePickup]]:
    """Pickups by the plane in which their plates lie."""
    groups: list[tuple[tuple[float, float, float], list[CapacitivePickup]]] = []
    for pickup in pickups:
        centre = pickup.placed_plate.area_points().centroid_m
        face = float(underside.height_m(centre[None])[0])
        level = face - pickup.gap_m + pickup.tilt_x * centre[0] + pickup.tilt_y * centre[1]
        plane = (float(level), pickup.tilt_x, pickup.tilt_y)
        for known, group in groups:
            if np.allclose(known, plane, rtol=0, atol=_SAME_PLANE_M):
                group.append(pickup)
                break
        else:
            groups.append((plane, [pickup]))
    return [group for _, group in groups]


def _plate(pickup: CapacitivePickup) -> BoardPlate:
    plate = pickup.placed_plate
    return BoardPlate(
        name=pickup.name,
        loop=plate.loop,
        area_m2=plate.area_points().area_m2,
        bias_v=pickup.bias_v,
        guard=pickup.guard,
        ring=None if pickup.guard is None else guard_ring(plate, pickup.guard),
        holes=pickup.holes,
    )


def _in_the_way(board: Board, placed: PlacedDesign) -> Iterator[Breach]:
    """What stands under the sheet where the board would be."""
    for what, area in _under_the_sheet(placed):
        shared = board.outline.intersection(area)
        if shared.is_empty:
            continue
        x, y = shapely.get_coordinates(shared.representative_point())[0]
        yield Breach(
            rule="room",
            what="edge of the board",
            expected="nothing else under the sheet there",
            got=what,
            place_m=(float(x), float(y)),
        )


def _under_the_sheet(placed: PlacedDesign) -> Iterator[tuple[str, BaseGeometry]]:
    blank = placed.blank
    for driver in placed.design.drivers:
        pole = driver.pole_face
        if pole is not None and not pole.is_above:
            yield f"the pole of {driver.name}", _disc(pole.centre_m, pole.pole_diameter_m / 2)
    for mass in blank.masses:
        if mass.side == "bottom" and mass.height_m > 0:
            yield "a mass under the sheet", _disc(mass.centre_m, mass.footprint_radius_m)
    for start, end in blank.rests_m:
        yield "a support of the body", LineString([start, end])
    if blank.hold is not None:
        for area in blank.hold.areas:
            yield "the clamp", loop_polygon(area)
        for curve in blank.hold.edge_curves_m:
            yield "the clamp", LineString(curve)


def _disc(centre_m: tuple[float, float], radius_m: float) -> Polygon:
    return Point(centre_m).buffer(radius_m, 32)
