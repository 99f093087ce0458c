"""Plates that choose modes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import titled
from modewright.report.electrode_data import electrode_tables, electrode_text
from modewright.report.page import Chapter, paragraph, picture

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["electrodes_chapter"]

_LEAD = (
    "Plates shaped for the modes under [electrodes]. They stand beside the design: modewright "
    "electrodes writes them as a drawing and as sections to paste."
)


def electrodes_chapter(content: DossierContent) -> Chapter | None:
    """Outlines, rejection as drawn and of made pieces, map of places; None if not asked for."""
    shown = content.electrodes
    if shown is None:
        return None
    if isinstance(shown, str):
        return Chapter(title="Plates that choose modes", blocks=(paragraph(shown),))
    blocks = [
        paragraph(_LEAD),
        picture(shown.plates_png, "png", "Plates in plan"),
        *(block for table in electrode_tables(shown.data) for block in titled(table)),
        paragraph(electrode_text(shown.data)),
    ]
    if shown.places_png is not None:
        caption = "How strongly a round pickup or driver couples to each mode, place by place"
        blocks.append(picture(shown.places_png, "png", caption))
    return Chapter(title="Plates that choose modes", blocks=tuple(blocks))
