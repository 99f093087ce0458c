"""Tables and advice as blocks of a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.page import paragraph, table, to_paste

if TYPE_CHECKING:
    from collections.abc import Mapping

    from modewright.report.text_tables import TextTable

__all__ = ["advice", "table_block", "titled"]


def table_block(shown: TextTable) -> str:
    """A table without its heading."""
    return table(shown.columns, shown.rows)


def titled(shown: TextTable) -> tuple[str, str]:
    """A table below its heading."""
    return paragraph(f"{shown.title}."), table_block(shown)


def advice(lead: str, missing: Mapping[str, str], *parts: str) -> tuple[str, ...]:
    """What a chapter lacks, and the sections to add for it."""
    sections = [missing[part] for part in parts if part in missing]
    return (
        paragraph(lead),
        to_paste("\n".join(sections)),
    )
