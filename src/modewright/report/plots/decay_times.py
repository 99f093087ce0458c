"""How long each mode rings: alone, and with the loop damping it."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["decay_times_png"]


def decay_times_png(
    freq_hz: NDArray[np.float64],
    free_s: NDArray[np.float64],
    damped_s: NDArray[np.float64],
    treated: NDArray[np.int64],
) -> bytes:
    """T60 against frequency on logarithmic axes.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    free_s, damped_s : float arrays, shape (modes,)
        T60 with the loop open, and with every treated mode damped. [s]
    treated : int array
        Indices of the treated modes.

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        for index in treated:
            ends = (free_s[index], damped_s[index])
            ax.plot([freq_hz[index]] * 2, ends, color="#888888", lw=1, zorder=1)
        ax.plot(freq_hz, free_s, "o", color=COLOURS[0], ms=5, label="left alone")
        ax.plot(freq_hz[treated], damped_s[treated], "v", color=COLOURS[1], ms=7, label="damped")
        ax.set_xscale("log")
        ax.set_yscale("log")
        ax.set_xlabel("frequency in Hz")
        ax.set_ylabel("T60 in s")
        ax.grid(which="both", color="#eeeeee")
        ax.legend()

    return figure_png(draw, height_in=3.4)
