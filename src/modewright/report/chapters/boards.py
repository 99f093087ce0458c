"""Boards that carry the plates, what has to be bought, and how it is joined."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import titled
from modewright.report.board_data import pin_table, plate_table
from modewright.report.page import Chapter, paragraph, table, vector
from modewright.report.parts_list import PART_COLUMNS

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["boards_chapter"]

_ORDER = (
    "The command artwork writes these boards as Gerber, drill, DXF and SVG files, with the list of "
    "parts and the wiring. Values that the design does not give are to be chosen."
)


def boards_chapter(content: DossierContent) -> Chapter | None:
    """Pictures, areas as written, parts, wiring; None without a pickup."""
    shown = content.boards
    if shown is None:
        return None
    if isinstance(shown, str):
        return Chapter(
            title="Boards and parts", blocks=(paragraph(f"No board can be made: {shown}"),)
        )
    blocks = [paragraph(_ORDER)]
    for name, svg in shown.drawings:
        blocks.append(vector(svg, f"{name}, seen from the sheet; the body dashed"))
    for one in (plate_table(shown.data), pin_table(shown.data)):
        blocks += titled(one)
    blocks += [paragraph(remark) for remark in shown.remarks]
    blocks.append(table(PART_COLUMNS, shown.parts))
    blocks.append(vector(shown.wiring_svg, "What is joined to what"))
    return Chapter(title="Boards and parts", blocks=tuple(blocks))
