"""The whole sheet with the blanks of all notes."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure
    from shapely import Polygon

__all__ = ["blank_sheets_png"]

_WIDTH_IN = 9.0
_METAL, _BLANK = "#d9dde1", "#f7f7f7"


def blank_sheets_png(
    sheets: Sequence[Sequence[tuple[str, Polygon]]], length_m: float, width_m: float
) -> bytes:
    """Picture of every sheet.

    Parameters
    ----------
    sheets : sequence of sequences of (str, Polygon)
        Name and outline of each blank on each sheet. [m]
    length_m, width_m : float
        Of a sheet. [m]

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        axes = figure.subplots(len(sheets), 1, squeeze=False)[:, 0]
        for ax, blanks in zip(axes, sheets, strict=True):
            ax.fill(
                np.array([0, length_m, length_m, 0]) * 1e3,
                np.array([0, 0, width_m, width_m]) * 1e3,
                facecolor=_METAL, edgecolor="#888888", linewidth=0.8,
            )  # fmt: skip
            for name, outline in blanks:
                x, y = np.asarray(outline.exterior.coords).T * 1e3
                ax.fill(x, y, facecolor=_BLANK, edgecolor=COLOURS[0], linewidth=0.9)
                for ring in outline.interiors:
                    x, y = np.asarray(ring.coords).T * 1e3
                    ax.fill(x, y, facecolor=_METAL, edgecolor=COLOURS[0], linewidth=0.9)
                spot = outline.representative_point()
                ax.text(spot.x * 1e3, spot.y * 1e3, name, ha="center", va="center", fontsize=8)
            ax.set_aspect("equal")
            ax.grid(visible=False)
            ax.set_xlabel("mm, along the direction of rolling")
            ax.set_ylabel("mm")

    height = 1.0 + len(sheets) * _WIDTH_IN * width_m / length_m
    return figure_png(draw, width_in=_WIDTH_IN, height_in=height)
