"""The design against what is wanted of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import table_block
from modewright.report.page import Chapter, paragraph, picture
from modewright.report.standing_data import standing_sentences, standing_table

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["targets_chapter"]

_LEAD = (
    "What [tune] asks for, held against the design as it stands; nothing was searched for, that is "
    "what the command tune does. Margin is the room that is left, below 0 what is missing."
)


def targets_chapter(content: DossierContent) -> Chapter | None:
    """Target table with verdicts; None if the design has no targets."""
    shown = content.targets
    if shown is None:
        return None
    if isinstance(shown, str):
        return Chapter(title="Targets", blocks=(paragraph(shown),))
    return Chapter(
        title="Targets",
        blocks=(
            paragraph(_LEAD),
            table_block(standing_table(shown.data)),
            *(paragraph(sentence) for sentence in standing_sentences(shown.data)),
            picture(shown.targets_png, "png", "Modes over frequency, and where they are wanted."),
        ),
    )
