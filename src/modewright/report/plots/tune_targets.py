"""Where the modes lie and where they are wanted, design by design, over frequency."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["TargetRow", "tune_targets_png"]

_ROW_IN, _MARGIN_IN = 0.62, 1.2
_HALF = 0.32
_TICKS_HZ = (50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000)
_MORE_TICKS_HZ = (70, 150, 300, 400, 700, 1500, 3000, 4000, 7000, 15000)
# Over a wider range than this the further ticks would touch.
_FEW = 12.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TargetRow:
    """One design.

    Parameters
    ----------
    caption : str
    freq_hz : float array, shape (modes,)
        All modes. [Hz]
    named : tuple of (str, float)
        Modes that targets name, and their frequencies. [Hz]
    wanted_hz : tuple of float
        Where targets want a mode, given the other modes of this design. [Hz]
    closed_hz : tuple of (float, float)
        Bands that unwanted modes must keep out of. [Hz]
    """

    caption: str
    freq_hz: NDArray[np.float64]
    named: tuple[tuple[str, float], ...]
    wanted_hz: tuple[float, ...]
    closed_hz: tuple[tuple[float, float], ...]


def tune_targets_png(rows: Sequence[TargetRow]) -> bytes:
    """Draw one row for each design on a common logarithmic axis of frequency.

    Parameters
    ----------
    rows : sequence of TargetRow
        From top to bottom.

    Returns
    -------
    bytes
        PNG.
    """
    lowest = min(min((hz for _, hz in row.named), default=row.freq_hz[0]) for row in rows) / 1.3
    highest = 1.3 * max(
        max((*(hz for _, hz in row.named), *row.wanted_hz, *(b for _, b in row.closed_hz)))
        for row in rows
    )

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        for number, row in enumerate(rows):
            _draw_row(ax, row, -float(number), has_names=number == 0)
        ax.set_xscale("log")
        ax.set_xlim(lowest, highest)
        ax.set_ylim(-len(rows) + 0.4, 0.75)
        offered = _TICKS_HZ if highest > _FEW * lowest else sorted(_TICKS_HZ + _MORE_TICKS_HZ)
        ticks = [hz for hz in offered if lowest <= hz <= highest]
        ax.set_xticks(ticks, [f"{hz:g}" for hz in ticks])
        ax.set_xticks([], minor=True)
        ax.set_yticks([-float(i) for i in range(len(rows))], [row.caption for row in rows])
        ax.set_xlabel("frequency in Hz")
        ax.grid(visible=False, axis="y")
        _mark_kinds(ax, has_bands=any(row.closed_hz for row in rows))
        figure.legend(loc="outside lower center", ncols=4, fontsize=8)

    return figure_png(draw, height_in=_MARGIN_IN + _ROW_IN * len(rows))


def _draw_row(ax: Axes, row: TargetRow, y: float, *, has_names: bool) -> None:
    for low, high in row.closed_hz:
        ax.fill_between([low, high], y - _HALF, y + _HALF, color=COLOURS[5], alpha=0.25, lw=0)
    ax.vlines(row.freq_hz, y - 0.2, y + 0.2, color="#999999", lw=1)
    for wanted_hz in row.wanted_hz:
        ax.plot(wanted_hz, y, marker="o", ms=11, mfc="none", mec=COLOURS[1], mew=1.5)
    for name, freq_hz in row.named:
        ax.vlines(freq_hz, y - _HALF, y + _HALF, color=COLOURS[0], lw=2)
        if has_names:
            ax.annotate(
                name, (freq_hz, y + _HALF), xytext=(0, 3), textcoords="offset points",
                ha="center", fontsize=8,
            )  # fmt: skip


def _mark_kinds(ax: Axes, *, has_bands: bool) -> None:
    """Empty curves that only the legend shows."""
    ax.plot([], [], color=COLOURS[0], lw=2, label="named by a target")
    ax.plot([], [], "o", ms=9, mfc="none", mec=COLOURS[1], mew=1.5, label="wanted here")
    ax.plot([], [], color="#999999", lw=1, label="other modes")
    if has_bands:
        ax.fill_between([], [], [], color=COLOURS[5], alpha=0.25, label="to be kept clear")
