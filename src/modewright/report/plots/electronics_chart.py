"""Noise of a pickup by contributor, and what disturbs each mode, as one picture."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from modewright.report.plots.style import COLOURS, DASHES, figure_png

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["electronics_chart_png"]

_TICKS_HZ = (20, 100, 1000, 10_000)
_MARKS = "osD^vPX"


def electronics_chart_png(
    freq_hz: NDArray[np.float64],
    density_v_per_rthz: Mapping[str, NDArray[np.float64]],
    mode_names: Sequence[str],
    level_db: Mapping[str, Sequence[float | None]],
    *,
    title: str,
) -> bytes:
    """Draw noise densities and, if there are any, levels of disturbances.

    Parameters
    ----------
    freq_hz : float array, shape (freqs,)
        [Hz]
    density_v_per_rthz : mapping of str to float array, shape (freqs,)
        At the output of the preamplifier, by contributor. [V/√Hz]
    mode_names : sequence of str
        Treated modes.
    level_db : mapping of str to sequence of float or None
        Level of each disturbance against each mode as held, by cause. [dB]
    title : str

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        panels = figure.subplots(1, 2 if level_db else 1, squeeze=False)[0]
        _draw_noise(panels[0], freq_hz, density_v_per_rthz)
        if level_db:
            _draw_levels(panels[1], mode_names, level_db)
        figure.suptitle(title, fontsize=10)

    return figure_png(draw, width_in=9.0 if level_db else 6.0, height_in=4.6)


def _draw_noise(
    axes: Axes, freq_hz: NDArray[np.float64], density: Mapping[str, NDArray[np.float64]]
) -> None:
    total = np.sqrt(sum(values**2 for values in density.values()))
    for index, (name, values) in enumerate(density.items()):
        axes.loglog(
            freq_hz,
            values * 1e9,
            color=COLOURS[index % (len(COLOURS) - 1)],
            ls=DASHES[index % len(DASHES)],
            lw=1.4,
            label=name,
        )
    axes.loglog(freq_hz, total * 1e9, color="black", lw=1.8, label="total")
    highest = float(total.max()) * 1e9
    axes.set_ylim(highest * 1e-4, highest * 2)
    axes.xaxis.set_major_locator(FixedLocator(_TICKS_HZ))
    axes.xaxis.set_major_formatter(FuncFormatter(_plain))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.set_xlabel("Hz")
    axes.set_ylabel("noise at the preamplifier, nV/√Hz")
    _legend_below(axes)


def _draw_levels(
    axes: Axes, mode_names: Sequence[str], level_db: Mapping[str, Sequence[float | None]]
) -> None:
    places = np.arange(len(mode_names))
    for index, (cause, levels) in enumerate(level_db.items()):
        values = [np.nan if level is None else level for level in levels]
        axes.plot(
            places,
            values,
            color=COLOURS[index % len(COLOURS)],
            marker=_MARKS[index % len(_MARKS)],
            ls="",
            label=cause,
        )
    axes.set_xticks(places, mode_names, rotation=30, ha="right")
    axes.set_ylabel("dB against the mode as held")
    _legend_below(axes)


def _legend_below(axes: Axes) -> None:
    axes.legend(fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.22), ncols=2)


def _plain(value: float, _place: int | None = None) -> str:
    return f"{value:g}"
