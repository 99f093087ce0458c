"""What a board is allowed to be and its maker should know all the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.fabrication.board.clearance import clearance_m
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from collections.abc import Iterator

    from modewright.fabrication.board.model import Board
    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["board_remarks"]

_PERMITTIVITY_F_PER_M = 8.854e-12
# Glass-filled epoxy (common practice).
_EPOXY = 4.4
_LEAST_F = 1e-15
_OPEN_OFF, _SAME_DEPTH_M = 0.05, 1e-6


def board_remarks(board: Board, settings: BoardSettings) -> tuple[str, ...]:
    """Sentences about a board that keeps all rules.

    Parameters
    ----------
    board : Board
    settings : BoardSettings

    Returns
    -------
    tuple of str
    """
    return (
        *_slits(board, settings),
        *_leads_under_plates(board, settings),
        *_bare_leads(board),
        *_vents(board, settings),
    )


def _vents(board: Board, settings: BoardSettings) -> Iterator[str]:
    for plate in board.plates:
        if plate.holes is None:
            continue
        outline = loop_polygon(plate.loop)
        open_share = 1 - plate.area_m2 / outline.area
        wanted = plate.holes.open_share
        if abs(open_share / wanted - 1) > _OPEN_OFF:
            yield (
                f"{plate.name}: its holes open {open_share * 100:.1f} % of the plate, the model "
                f"takes {wanted * 100:.1f} %: none fit at its edge, over leads and lined holes. "
                "The note rings shorter than computed."
            )
        if abs(plate.holes.depth_m - settings.thickness_m) > _SAME_DEPTH_M:
            yield (
                f"{plate.name}: its holes are computed {plate.holes.depth_m * 1e3:.3g} mm long, "
                f"the board is {settings.thickness_m * 1e3:.3g} mm thick. Make them agree."
            )


def _slits(board: Board, settings: BoardSettings) -> Iterator[str]:
    for plate in board.plates:
        if plate.guard is None:
            continue
        wanted = clearance_m(plate.bias_v, settings.altitude)
        if plate.guard.gap_m < wanted:
            yield (
                f"{plate.name}: the slit of {plate.guard.gap_m * 1e3:.3g} mm to the guard holds "
                f"the board house's limit, not the {wanted * 1e3:.3g} mm for {plate.bias_v:g} V. "
                "Feed the guard from the same bias as the plate, so that no voltage stands across "
                "the slit when one of them is switched or fails."
            )


def _leads_under_plates(board: Board, settings: BoardSettings) -> Iterator[str]:
    per_area = _EPOXY * _PERMITTIVITY_F_PER_M / settings.thickness_m
    leads = [copper for copper in board.on("bottom") if copper.role == "lead"]
    for plate in board.plates:
        for lead in leads:
            if lead.net.owner == plate.name:
                continue
            shared = lead.area.intersection(loop_polygon(plate.loop)).area
            if shared * per_area > _LEAST_F:
                yield (
                    f"{lead.net.owner}: its lead runs under {plate.name}, about "
                    f"{shared * per_area * 1e15:.3g} fF through the board between the two."
                )


def _bare_leads(board: Board) -> Iterator[str]:
    for plate in board.plates:
        if plate.guard is None:
            yield (
                f"{plate.name}: without a guard its lead picks up hum and leaks over the surface; "
                "a [pickups.guard] adds one round the plate and along the lead."
            )
