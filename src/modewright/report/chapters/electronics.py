"""Electronics around the pickup: recovery, delays, disturbances."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import titled
from modewright.report.electronics_data import (
    disturbance_tables,
    latency_tables,
    recovery_table,
)
from modewright.report.page import Chapter, paragraph, picture

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["electronics_chapter"]

_NO_ROOM = (
    "Hum, ripple and feedthrough are not judged: the design has no section [surroundings]. This "
    "does not say that there are none."
)
_CAUTION = (
    "A bias supply can hurt: switch off and let it bleed before touching plate, lead or resistor, "
    "and follow local codes."
)


def electronics_chapter(content: DossierContent) -> Chapter | None:
    """Noise, recovery, delays and disturbances; None without a loop."""
    shown = content.electronics
    if shown is None:
        return None
    data = shown.data
    tables = [recovery_table(data["after_a_strike"]), *latency_tables(data["latency"])]
    disturbances = data["disturbances"]
    if disturbances is not None:
        tables += disturbance_tables(disturbances)
    caption = "Noise by contributor"
    if disturbances is not None:
        caption += ", and what disturbs each mode"
    blocks = [
        picture(shown.chart_png, "png", caption),
        *(block for table in tables for block in titled(table)),
    ]
    if disturbances is None:
        blocks.append(paragraph(_NO_ROOM))
    else:
        blocks += [paragraph(f"Not judged: {what}.") for what in disturbances["not_judged"]]
    blocks.append(paragraph(_CAUTION))
    return Chapter(title="Electronics", blocks=tuple(blocks))
