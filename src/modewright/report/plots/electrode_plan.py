"""Plates under the sheet, and how well places hear or push modes."""

# pyright: reportUnknownMemberType=false, reportUnknownArgumentType=false
# pyright: reportUnknownVariableType=false

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

__all__ = ["place_map_png", "plates_png"]

_HATCHES = ("", "///", "\\\\\\", "...", "xxx", "---")
_COLUMNS = 2


def plates_png(
    sheet: Polygon, plates: Sequence[Polygon], names: Sequence[str], title: str
) -> bytes:
    """Draw plates in plan, seen from above through the sheet.

    Parameters
    ----------
    sheet : Polygon
        [m]
    plates : sequence of Polygon
        [m]
    names : sequence of str
        Of the plates.
    title : str

    Returns
    -------
    bytes
        PNG.
    """
    x0, y0, x1, y1 = sheet.bounds
    aspect = min(max((y1 - y0) / (x1 - x0), 0.2), 2.0)

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        _draw_sheet(ax, sheet)
        for number, (plate, name) in enumerate(zip(plates, names, strict=True)):
            ax.fill(
                *np.array(plate.exterior.coords).T * 1e3,
                facecolor=COLOURS[number % len(COLOURS)] + "66",
                edgecolor=COLOURS[number % len(COLOURS)],
                hatch=_HATCHES[number % len(_HATCHES)],
                lw=1.0,
                label=name,
            )
        ax.set_title(title, fontsize=10)
        ax.set_xlabel("mm")
        ax.set_ylabel("mm")
        ax.set_aspect("equal")
        figure.legend(loc="outside lower center", ncols=4, fontsize=8)

    return figure_png(draw, width_in=8.0, height_in=1.4 + 6.6 * aspect)


def _draw_sheet(ax: Axes, sheet: BaseGeometry) -> None:
    for part in shapely.get_parts(sheet):
        for ring in (part.exterior, *part.interiors):
            ax.plot(*np.array(ring.coords).T * 1e3, color="#333333", lw=1.0)


def place_map_png(
    sheet: Polygon,
    points_m: NDArray[np.float64],
    coupling: NDArray[np.float64],
    captions: Sequence[str],
    best: int,
    worst: float,
) -> bytes:
    """Draw for each mode how well places hear or push it.

    Parameters
    ----------
    sheet : Polygon
        [m]
    points_m : float array, shape (places, 2)
        [m]
    coupling : float array, shape (places, modes)
        From -1 to 1.
    captions : sequence of str
        Of the modes.
    best : int
        Place that is marked.
    worst : float
        Coupling there to the weakest wanted mode.

    Returns
    -------
    bytes
        PNG.
    """
    rows = math.ceil(len(captions) / _COLUMNS)
    x0, y0, x1, y1 = sheet.bounds
    aspect = min(max((y1 - y0) / (x1 - x0), 0.2), 2.0)
    step_m = float(np.median(np.diff(np.unique(np.round(points_m[:, 0], 9)))))
    # Points of the drawing are 1/72 inch; a panel is about 3.2 inches wide.
    size = (1.15 * step_m / (x1 - x0) * 3.2 * 72) ** 2

    def draw(figure: Figure) -> None:
        axes = figure.subplots(rows, _COLUMNS, squeeze=False).ravel()
        for ax in axes[len(captions) :]:
            ax.set_axis_off()
        shown = None
        for mode, caption in enumerate(captions):
            ax = axes[mode]
            _draw_sheet(ax, sheet)
            shown = ax.scatter(
                *points_m.T * 1e3,
                c=np.abs(coupling[:, mode]) * 100,
                s=max(size, 1.0),
                marker="s",
                linewidths=0,
                cmap="viridis",
                vmin=0,
                vmax=100,
                rasterized=True,
            )
            ax.plot(*points_m[best] * 1e3, marker="x", color="#D55E00", ms=9, mew=2.4)
            ax.set_title(caption, fontsize=9, loc="left")
            ax.set_aspect("equal")
            ax.tick_params(labelsize=7)
        if shown is not None:
            figure.colorbar(shown, ax=list(axes), label="% of the best place for the mode")
        figure.supxlabel(
            f"mm   (cross: best place for all wanted modes, the weakest at {worst * 100:.0f} %)",
            fontsize=8,
        )

    return figure_png(draw, width_in=8.2, height_in=0.7 + rows * (0.6 + 3.0 * aspect))
