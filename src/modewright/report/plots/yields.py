"""How many made pieces keep to each limit, as cut and after trimming."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure

__all__ = ["yields_png"]

_BAR = 0.38


def yields_png(
    names: Sequence[str], as_cut: Sequence[float], trimmed: Sequence[float] | None
) -> bytes:
    """Draw shares of good pieces.

    Parameters
    ----------
    names : sequence of str
        Limits, from top to bottom.
    as_cut, trimmed : sequence of float
        Shares within each, 0 to 1; no second one if nothing is trimmed.

    Returns
    -------
    bytes
        PNG.
    """
    courses = [("as cut", as_cut, COLOURS[0], "")]
    if trimmed is not None:
        courses.append(("after trimming the pitch", trimmed, COLOURS[5], "//"))

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        rows = np.arange(len(names), dtype=float)
        for number, (what, shares, colour, hatch) in enumerate(courses):
            places = rows + _BAR * (number - (len(courses) - 1) / 2)
            ax.barh(
                places, [100 * share for share in shares], height=0.9 * _BAR,
                color=colour, hatch=hatch, edgecolor="white", label=what,
            )  # fmt: skip
            for place, share in zip(places, shares, strict=True):
                ax.text(100 * share + 1, place, f"{100 * share:.1f}", va="center", fontsize=8)
        ax.set_yticks(rows, list(names))
        ax.invert_yaxis()
        ax.set_xlim(0, 110)
        ax.set_xticks([0, 20, 40, 60, 80, 100])
        ax.grid(visible=False, axis="y")
        ax.set_xlabel("pieces within the limit in %")
        figure.legend(loc="outside upper center", ncols=2, fontsize=8)

    return figure_png(draw, height_in=1.2 + 0.55 * len(names))
