"""What can hurt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.page import Chapter, caution, table
from modewright.report.safety import CAUTIONS

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["safety_chapter"]


def safety_chapter(content: DossierContent) -> Chapter:
    """The design against the limits usually cited."""
    rows = [(f.what, f.value, f.usual, f.verdict) for f in content.safety]
    return Chapter(
        title="Safety",
        blocks=(
            table(("what", "this design", "usually cited", "verdict"), rows),
            caution(CAUTIONS),
        ),
    )
