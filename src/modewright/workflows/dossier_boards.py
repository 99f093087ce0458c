"""Boards, parts and wiring of a design, for its dossier."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.fabrication.board.faults import BoardError
from modewright.report.dossier_content import ShownBoards
from modewright.report.parts_list import parts_list
from modewright.report.wiring_sketch import wiring_svg
from modewright.workflows.artwork import make_artwork

if TYPE_CHECKING:
    from modewright.workflows.analysis import Analysis

__all__ = ["shown_boards"]


def shown_boards(found: Analysis) -> ShownBoards | str | None:
    """Lay out the boards of a design.

    Parameters
    ----------
    found : Analysis

    Returns
    -------
    ShownBoards, str or None
        The rule that is broken, if one is; None without a pickup.
    """
    design = found.placed.design
    if not design.pickups:
        return None
    try:
        artwork = make_artwork(found.placed, found.loaded.design_hash)
    except BoardError as error:
        return str(error)
    return ShownBoards(
        data=artwork.boards,
        drawings=tuple(
            (board["name"], artwork.texts[f"{board['name']}.svg"]) for board in artwork.boards
        ),
        remarks=artwork.remarks,
        parts=parts_list(design, artwork.boards),
        wiring_svg=wiring_svg(design, f"{design.design.name}: wiring"),
    )
