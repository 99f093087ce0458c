"""Where the modes fall."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import table_block
from modewright.report.mode_animation import EXAGGERATION_TEXT
from modewright.report.page import Chapter, paragraph, picture
from modewright.report.text_tables import modes_table

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["modes_chapter"]


def modes_chapter(content: DossierContent) -> Chapter:
    """Modes of the body by itself, still and in motion."""
    modes, pictures = content.modes, content.pictures
    place = modes["reference_point"]["name"]
    tiles = "".join(picture(gif, "gif", caption) for caption, gif in pictures.animations)
    return Chapter(
        title="Modes",
        blocks=(
            paragraph(
                f"Method: {modes['method']}, of the body by itself in vacuum; “air cents” is what "
                "the mass of the air adds; bias and magnets come under Listening. "
                "The error estimate compares two discretisations. Notes are counted "
                f"from A4 = {modes['a4_hz']:g} Hz; the modal mass is referred to {place}."
            ),
            table_block(modes_table(modes)),
            picture(pictures.plan_png, "png", "Motion normal to the sheet, with node lines."),
            paragraph(f"Modes in motion ({EXAGGERATION_TEXT}):"),
            f'<div class="tiles">{tiles}</div>',
        ),
    )
