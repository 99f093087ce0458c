"""One page that shows what inverse design found."""

from __future__ import annotations

from typing import Any

from modewright.report.page import Chapter, page, paragraph, picture, table
from modewright.report.tune_tables import tune_sentences, tune_tables

__all__ = ["tuning_page"]


def tuning_page(data: dict[str, Any], targets_png: bytes, outlines_png: bytes) -> str:
    """Page of one search.

    Parameters
    ----------
    data : dict
        From `modewright.report.tune_data.tuning_data`.
    targets_png, outlines_png : bytes
        Pictures.

    Returns
    -------
    str
        HTML.
    """
    targets, dimensions, modes = tune_tables(data)
    chapters = [
        Chapter(
            title="Targets",
            blocks=(
                *(paragraph(sentence) for sentence in tune_sentences(data)),
                picture(targets_png, "png", "Modes of each design and where they are wanted"),
                paragraph(targets.title),
                table(targets.columns, targets.rows),
            ),
        ),
        Chapter(
            title="Dimensions",
            blocks=(
                table(dimensions.columns, dimensions.rows),
                picture(outlines_png, "png", "Blanks; in grey the design as it was"),
            ),
        ),
        Chapter(title="Modes", blocks=(paragraph(modes.title), table(modes.columns, modes.rows))),
    ]
    settings = data["settings"]
    footer = (
        f"Design {data['design_hash'][:12]}, accuracy {data['accuracy']}, {settings['modes']} "
        f"modes, {settings['starts']} further starts, seed {settings['seed']}, modewright "
        f"{data['modewright']}."
    )
    return page(f"{data['name']}: tuning", "Inverse design of one note.", chapters, footer)
