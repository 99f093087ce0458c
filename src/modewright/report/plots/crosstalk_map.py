"""Who is heard in whose pickup: one square for each pair of notes."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["crosstalk_png"]

_LOW_DB, _HIGH_DB = -120.0, 0.0
_BRIGHT_DB = -40.0
_MOST_FIGURES = 16
# Side by side more of them could not be read in print.
_COLUMNS = 2


def crosstalk_png(ways: Sequence[tuple[str, NDArray[np.float64]]], names: Sequence[str]) -> bytes:
    """Levels of every note in every pickup, one map for each way.

    Parameters
    ----------
    ways : sequence of (str, float array of shape (notes, notes))
        Heading and levels; rows hear, columns are driven. [dB]
    names : sequence of str
        Of the notes.

    Returns
    -------
    bytes
        PNG.
    """
    rows = -(-len(ways) // _COLUMNS)

    def draw(figure: Figure) -> None:
        axes = figure.subplots(rows, min(len(ways), _COLUMNS), squeeze=False).ravel()
        for ax in axes[len(ways) :]:
            ax.remove()
        axes = axes[: len(ways)]
        for place, (ax, (heading, levels)) in enumerate(zip(axes, ways, strict=True)):
            image = ax.imshow(levels, vmin=_LOW_DB, vmax=_HIGH_DB, cmap="cividis")
            ax.set_title(heading, fontsize=10)
            ax.set_xticks(range(len(names)), names, rotation=90, fontsize=8)
            ax.set_yticks(range(len(names)), names, fontsize=8)
            ax.set_xlabel("driven")
            ax.grid(visible=False)
            if len(names) <= _MOST_FIGURES:
                _write_levels(ax, levels)
            if place % _COLUMNS == 0:
                ax.set_ylabel("pickup that hears")
            if ax is axes[-1]:
                figure.colorbar(
                    image,
                    ax=list(axes),
                    label="dB against the driven note's own pickup",
                    shrink=0.7,
                )

    return figure_png(draw, width_in=3.9 * min(len(ways), _COLUMNS) + 1.0, height_in=4.1 * rows)


def _write_levels(ax: Axes, levels: NDArray[np.float64]) -> None:
    for (row, column), level in np.ndenumerate(levels):
        text = "−" if level < 2 * _LOW_DB else f"{level:z.0f}"
        colour = "black" if level > _BRIGHT_DB else "white"
        ax.text(column, row, text, ha="center", va="center", fontsize=6, color=colour)
