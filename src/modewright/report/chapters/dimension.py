"""What a free dimension does to the modes over its range."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import titled
from modewright.report.page import Chapter, paragraph, picture

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["dimension_chapter"]

_TITLE = "A dimension varied"


def dimension_chapter(content: DossierContent) -> Chapter | None:
    """Sweep of one dimension; None if the design frees none."""
    shown = content.sweep
    if shown is None:
        return None
    if isinstance(shown, str):
        return Chapter(title=_TITLE, blocks=(paragraph(shown),))
    return Chapter(
        title=_TITLE,
        blocks=(
            paragraph(
                f"Of the free dimensions of [tune], {shown.address} moves the modes most against "
                f"each other. Here it goes from {shown.lowest} to {shown.highest} in {shown.steps} "
                f"steps; in the design it is {shown.here}. Every mode is followed by its shape, "
                "undamped and in vacuum, at draft accuracy: read the course, not the cents. Modes "
                "that meet either cross, or veer away from each other and exchange their shapes; "
                "near a veering both are mixed."
            ),
            picture(shown.sweep_png, "png", f"Frequencies of the modes over {shown.address}."),
            *(block for table in shown.tables for block in titled(table)),
        ),
    )
