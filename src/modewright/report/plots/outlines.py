"""Several blanks to one scale: in plan and, where the thickness varies, from the side."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["BlankPicture", "outlines_png"]

_WIDTH_IN, _TITLE_IN = 7.5, 0.35
_GAP_SHARE = 0.06


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlankPicture:
    """Curves of one blank.

    Parameters
    ----------
    caption : str
    loops_m : tuple of float arrays, shape (corners, 2)
        Outline and holes in plan. [m]
    side_m : float array, shape (corners, 2), or None
        Outline seen from the side, if the thickness varies; z upwards. [m]
    """

    caption: str
    loops_m: tuple[NDArray[np.float64], ...]
    side_m: NDArray[np.float64] | None = None


def outlines_png(blanks: Sequence[BlankPicture]) -> bytes:
    """Draw blanks below each other, roots aligned, the first one shaded behind the others.

    Parameters
    ----------
    blanks : sequence of BlankPicture
        The first one is what the others are compared with.

    Returns
    -------
    bytes
        PNG.
    """
    every = np.concatenate([curve for blank in blanks for curve in _curves(blank)]) * 1e3
    low, high = every.min(axis=0), every.max(axis=0)
    span = high - low
    row_in = _WIDTH_IN * span[1] / span[0] + _TITLE_IN

    def draw(figure: Figure) -> None:
        axes = figure.subplots(len(blanks), 1, squeeze=False, sharex=True)[:, 0]
        for ax, blank in zip(axes, blanks, strict=True):
            if blank is not blanks[0]:
                _draw(ax, blanks[0], "#bbbbbb", 0.8)
            _draw(ax, blank, COLOURS[0], 1.2)
            ax.set_aspect("equal")
            ax.set_xlim(low[0] - 0.02 * span[0], high[0] + 0.02 * span[0])
            ax.set_ylim(low[1] - 0.02 * span[0], high[1] + 0.02 * span[0])
            ax.set_title(blank.caption, fontsize=9, loc="left")
            ax.set_yticks([])
            if blank.side_m is not None:
                ax.set_ylabel("side    plan", fontsize=8)
        axes[-1].set_xlabel("mm")

    return figure_png(draw, width_in=_WIDTH_IN, height_in=min(0.6 + row_in * len(blanks), 14.0))


def _curves(blank: BlankPicture) -> list[NDArray[np.float64]]:
    """Curves in plan, and the view from the side below them."""
    if blank.side_m is None:
        return list(blank.loops_m)
    lowest = min(float(loop[:, 1].min()) for loop in blank.loops_m)
    gap = _GAP_SHARE * float(np.ptp(blank.side_m[:, 0]))
    down = lowest - gap - float(blank.side_m[:, 1].max())
    return [*blank.loops_m, blank.side_m + np.array([0.0, down])]


def _draw(ax: Axes, blank: BlankPicture, colour: str, width: float) -> None:
    for curve in _curves(blank):
        closed = np.concatenate([curve, curve[:1]]) * 1e3
        ax.plot(closed[:, 0], closed[:, 1], color=colour, lw=width)
