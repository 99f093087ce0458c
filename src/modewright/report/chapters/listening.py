"""What the pickups hear, and where the body rests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import advice, table_block, titled
from modewright.report.gap_data import choice_text, course_tables
from modewright.report.page import Chapter, paragraph, picture
from modewright.report.text_tables import pickup_tables, rest_tables

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["listening_chapter"]


def listening_chapter(content: DossierContent) -> Chapter:
    """Pickups and the operating point."""
    hearing = content.hearing
    blocks: list[str] = []
    for pickup in hearing["pickups"]:
        for shown in pickup_tables(pickup):
            blocks += titled(shown)
        blocks.append(paragraph(_fringe_text(pickup["fringe_factor"], pickup["fringe_method"])))
    for shown in content.gaps:
        blocks.append(
            picture(
                shown.chart_png,
                "png",
                f"Q and signal over the gap of {shown.data['course']['pickup']}, the body unbent: "
                "a narrow gap hears more and lets less ring",
            )
        )
        blocks += titled(course_tables(shown.data["course"])[0])
        blocks.append(paragraph(choice_text(shown.data["choice"])))
    if not hearing["pickups"]:
        blocks += advice(
            "Nothing listens to this body yet. Add to the design file, for instance:",
            content.missing,
            "pickup",
        )
    rest = rest_tables(hearing["operating_point"])
    if rest:
        blocks.append(
            paragraph(
                "Where the sheet rests under bias and magnets, and what they do to the pitch:"
            )
        )
    blocks += [table_block(shown) for shown in rest]
    return Chapter(title="Listening", blocks=tuple(blocks))


def _fringe_text(factor: float, method: str) -> str:
    return (
        f"The field at the rim multiplies the capacitance by {factor:.3f} ({method}); pull, "
        "softening and signal have it too."
    )
