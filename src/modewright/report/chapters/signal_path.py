"""From motion to force, stage by stage."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import table_block
from modewright.report.page import Chapter, paragraph, picture
from modewright.report.text_tables import path_table

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["signal_path_chapter"]


_NO_PATH = (
    "A signal path leads from a pickup to a driver; one of them is missing. Listening and Pushing "
    "say what to add."
)


def signal_path_chapter(content: DossierContent) -> Chapter:
    """Gain and phase of the stages."""
    path_png = content.pictures.path_png
    if content.loop is None or path_png is None:
        return Chapter(title="Signal path", blocks=(paragraph(_NO_PATH),))
    return Chapter(
        title="Signal path",
        blocks=(
            paragraph("Every stage at every treated mode, in dB and degrees."),
            table_block(path_table(content.hearing["signal_path"], content.loop)),
            picture(path_png, "png", "Gain and phase of the stages; grey: treated modes."),
        ),
    )
