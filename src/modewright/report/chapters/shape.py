"""What is cut, and what is held."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.page import Chapter, paragraph, vector

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["shape_chapter"]


def shape_chapter(content: DossierContent) -> Chapter:
    """Blank with its dimensions."""
    mass_g = content.modes["body_mass_kg"] * 1e3
    has_plates = bool(content.hearing["pickups"])
    plates = " Dash-dotted: the pickup plates under the sheet." if has_plates else ""
    return Chapter(
        title="Shape",
        blocks=(
            paragraph(
                f"The body weighs {mass_g:.2f} g with what is fixed to it. Blue is what is held."
                f"{plates} The contour is drawn as it should be after cutting; kerf is not "
                "compensated."
            ),
            vector(
                content.pictures.drawing_svg, "Blank with dimensions in mm; also as outline.dxf."
            ),
        ),
    )
