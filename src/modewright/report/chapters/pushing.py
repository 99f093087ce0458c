"""What the drivers can do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import advice, titled
from modewright.report.page import Chapter
from modewright.report.text_tables import driver_tables

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["pushing_chapter"]


def pushing_chapter(content: DossierContent) -> Chapter:
    """Drivers."""
    blocks: list[str] = []
    for driver in content.hearing["drivers"]:
        for shown in driver_tables(driver):
            blocks += titled(shown)
    if not content.hearing["drivers"]:
        blocks += advice(
            "Nothing pushes this body yet. Add to the design file, for instance:",
            content.missing,
            "driver",
        )
    return Chapter(title="Pushing", blocks=tuple(blocks))
