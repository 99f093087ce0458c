"""How long modes ring and how strongly they are heard, over the gap of a pickup."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.ticker import (
    FixedLocator,
    FuncFormatter,
    LogLocator,
    NullFormatter,
    ScalarFormatter,
)

from modewright.report.plots.style import COLOURS, DASHES, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["gap_chart_png"]

_TICKS_MM = (0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 1.0, 1.5)


def gap_chart_png(
    gap_m: NDArray[np.float64],
    q: NDArray[np.float64],
    sensitivity_v_per_m: NDArray[np.float64],
    names: Sequence[str],
    *,
    here_m: float,
    title: str,
) -> bytes:
    """Draw Q and sensitivity over the same axis of gaps.

    Parameters
    ----------
    gap_m : float array, shape (gaps,)
        [m]
    q, sensitivity_v_per_m : float arrays, shape (gaps, modes)
        [1], [V/m]
    names : sequence of str
        Of the modes.
    here_m : float
        Gap of the design. [m]
    title : str

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        upper, lower = figure.subplots(2, 1, sharex=True)
        for axes, values in ((upper, q), (lower, sensitivity_v_per_m * 1e-3)):
            for mode, name in enumerate(names):
                axes.plot(
                    gap_m * 1e3,
                    values[:, mode],
                    color=COLOURS[mode % len(COLOURS)],
                    ls=DASHES[(mode + mode // len(COLOURS)) % len(DASHES)],
                    lw=1.6,
                    label=name,
                )
            axes.axvline(here_m * 1e3, color="#555555", lw=1.0, ls=(0, (1, 2)))
            axes.set_xscale("log")
            axes.set_yscale("log")
            axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
            axes.yaxis.set_major_formatter(FuncFormatter(_plain))
            axes.yaxis.set_minor_formatter(NullFormatter())
        upper.set_ylabel("Q, all losses")
        lower.set_ylabel("mV per µm at the\nreference point")
        lower.set_xlabel("gap in mm (dotted: the design)")
        lower.xaxis.set_major_locator(FixedLocator(_TICKS_MM))
        lower.xaxis.set_major_formatter(ScalarFormatter())
        lower.xaxis.set_minor_formatter(NullFormatter())
        upper.set_title(title)
        figure.legend(*upper.get_legend_handles_labels(), loc="outside right center", fontsize=8)

    return figure_png(draw, width_in=8.5, height_in=5.4)


def _plain(value: float, _place: int | None = None) -> str:
    return f"{value:g}"
