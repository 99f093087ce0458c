"""What lies beside the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.page import Chapter, table

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["files_chapter"]


def files_chapter(content: DossierContent) -> Chapter:
    """Names of the files and what they are."""
    return Chapter(title="Files", blocks=(table(("file", "what"), content.files),))
