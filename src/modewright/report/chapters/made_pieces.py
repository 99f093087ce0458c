"""How far made pieces will be off, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import titled
from modewright.report.page import Chapter, caution, paragraph, picture
from modewright.report.spread_data import spread_tables

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["made_pieces_chapter"]

_TITLE = "Made pieces"


def made_pieces_chapter(content: DossierContent) -> Chapter | None:
    """Spread, yield, contributors and warmth; None if the design states no tolerances."""
    shown = content.spread
    if shown is None:
        return None
    if isinstance(shown, str):
        return Chapter(title=_TITLE, blocks=(paragraph(shown),))
    data = shown.data
    trim = data["trim"]["path"]
    trimming = f" “Trimmed” is after {trim} was changed until mode 1 has its pitch." if trim else ""
    blocks = [
        paragraph(
            f"{data['samples']} pieces drawn within the tolerances of [spread], "
            f"{data['checked']} of them solved in earnest to check the others.{trimming} The "
            "spread is given as standard deviation σ."
        ),
        picture(shown.pieces_png, "png", "Pieces by pitch, and the tolerance it comes from."),
        picture(shown.yields_png, "png", "Yield: pieces within each limit."),
    ]
    cautions = [*data["faults"], *data["strays"]]
    if cautions:
        blocks.append(caution(cautions))
    for table in spread_tables({**data, "name": "This design"}):
        blocks += titled(table)
    blocks.append(
        picture(shown.warmth_png, "png", "Pitch and drift from a cold room to a warm one.")
    )
    return Chapter(title=_TITLE, blocks=tuple(blocks))
