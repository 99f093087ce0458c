"""Looks that all plots share, and the way a figure becomes bytes."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["COLOURS", "DASHES", "figure_png"]

# Okabe & Ito, without the yellow that vanishes on white.
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00", "#000000")
DASHES = ("-", "--", "-.", ":")

_STYLE: dict[Any, Any] = {
    "font.size": 10,
    "axes.grid": True,
    "grid.color": "#dddddd",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "legend.frameon": False,
    "savefig.dpi": 130,
}


def figure_png(
    draw: Callable[[Figure], None], *, width_in: float = 7.5, height_in: float = 3.6
) -> bytes:
    """Let `draw` fill a figure and return it as a PNG file.

    Parameters
    ----------
    draw : callable
        Told the empty figure.
    width_in, height_in : float
        Size. [inch]

    Returns
    -------
    bytes
        The same for the same input: no date is stored.
    """
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(width_in, height_in), layout="constrained")
        FigureCanvasAgg(figure)
        draw(figure)
        stream = io.BytesIO()
        figure.savefig(stream, format="png", metadata={"Software": None})
    return stream.getvalue()
