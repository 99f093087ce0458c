"""Who takes the energy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import table_block
from modewright.report.page import Chapter, paragraph, picture
from modewright.report.text_tables import loss_table

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["losses_chapter"]


def losses_chapter(content: DossierContent) -> Chapter:
    """Losses, mechanism by mechanism."""
    return Chapter(
        title="Losses",
        blocks=(
            paragraph("Every mechanism by itself, mode by mode; shares in per cent of 1/Q."),
            table_block(loss_table(content.modes)),
            picture(content.pictures.losses_png, "png", "Who takes how much."),
        ),
    )
