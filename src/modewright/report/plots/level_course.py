"""The levels of the treated modes while a score is played."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import COLOURS, DASHES, figure_png

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["level_course_png"]

_FLOOR_DB = -60.0


def level_course_png(
    time_s: NDArray[np.float64], level_m: NDArray[np.float64], names: tuple[str, ...], title: str
) -> bytes:
    """Levels in dB re 1 µm against time.

    Parameters
    ----------
    time_s : float array, shape (times,)
        [s]
    level_m : float array, shape (times, modes)
        Peak displacement at the reference point. [m]
    names : tuple of str, length modes
    title : str

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        decibel = 20 * np.log10(np.maximum(level_m / 1e-6, 1e-6))
        for index, name in enumerate(names):
            ax.plot(
                time_s,
                decibel[:, index],
                color=COLOURS[index % len(COLOURS)],
                ls=DASHES[(index // 2) % len(DASHES)],
                lw=1.2,
                label=name,
            )
        ax.set_ylim(_FLOOR_DB, float(decibel.max()) + 8)
        ax.set_xlim(0, float(time_s[-1]))
        ax.set_xlabel("time in s")
        ax.set_ylabel("level in dB re 1 µm peak")
        ax.set_title(title, loc="left", fontsize=10)
        ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8)

    return figure_png(draw, width_in=8.2, height_in=3.0)
