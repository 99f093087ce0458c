"""What the drivers can do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import advice, titled
from modewright.report.driver_choice_data import driver_choice_tables
from modewright.report.page import Chapter, paragraph
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
    choice = content.driver_choice
    if isinstance(choice, str):
        blocks.append(paragraph(f"Drivers were not compared: {choice}"))
    elif choice is not None:
        for shown in driver_choice_tables(choice):
            blocks += titled(shown)
        blocks += [
            paragraph(f"{one['name']} ({one['kind']}) cannot serve: {one['reason']}")
            for one in choice["drivers"]
            if "reason" in one
        ]
    return Chapter(title="Pushing", blocks=tuple(blocks))
