"""Frequencies over a range of one number, with the places where modes cross or veer."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.ticker import FixedFormatter, FixedLocator, NullLocator, ScalarFormatter
from matplotlib.transforms import blended_transform_factory

from modewright.pitch import freq_hz_of_note
from modewright.report.plots.style import COLOURS, DASHES, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    from modewright.modes.approaches import Approach

__all__ = ["SweepLine", "sweep_png"]

_NOTES = ("C", "E", "G", "A")
_OCTAVES = range(-1, 11)
_DECADES = range(7)
_FEW_TICKS = 14
# Names of modes keep this distance, in shares of the height, and have this share of the width.
_APART, _NAME_ROOM = 0.036, 0.27


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SweepLine:
    """One mode: its name and its frequency at each value. [Hz]"""

    label: str
    freq_hz: NDArray[np.float64]


def sweep_png(
    values: NDArray[np.float64],
    lines: Sequence[SweepLine],
    approaches: Sequence[Approach],
    *,
    axis: str,
    title: str,
    a4_hz: float,
    here: float | None = None,
) -> bytes:
    """Draw followed modes on a logarithmic axis with notes.

    Parameters
    ----------
    values : float array, shape (steps,)
        In the unit in which the number is shown.
    lines : sequence of SweepLine
    approaches : sequence of Approach
        With values in that unit.
    axis : str
        Name and unit of the number.
    title : str
    a4_hz : float
        For the notes. [Hz]
    here : float, optional
        Value to mark as that of the design.

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        for number, line in enumerate(lines):
            colour, dash = _look(number)
            ax.plot(values, line.freq_hz, color=colour, ls=dash, lw=1.6)
        for approach in approaches:
            _mark(ax, approach)
        if here is not None:
            _mark_design(ax, here)
        low = min(float(line.freq_hz.min()) for line in lines)
        high = max(float(line.freq_hz.max()) for line in lines)
        ax.set_yscale("log")
        ax.set_ylim(low / 1.12, high * 1.12)
        _hertz(ax, low / 1.12, high * 1.12)
        _notes(ax, low / 1.12, high * 1.12, a4_hz)
        room = _NAME_ROOM * (values[-1] - values[0])
        ax.set_xlim(values[0], values[-1] + room)
        low_x, high_x = sorted((values[0], values[-1]))
        ax.set_xticks([tick for tick in ax.get_xticks() if low_x <= tick <= high_x])
        ax.set_xlabel(axis)
        ax.set_ylabel("frequency in Hz   (right: notes)")
        ax.set_title(title)
        _names(ax, float(values[-1] + room / 20), lines)

    return figure_png(draw, width_in=9.0, height_in=5.6)


def _look(number: int) -> tuple[str, str]:
    """Colour and dash of a mode: no two alike, told apart without colour as well."""
    dash = DASHES[(number + number // len(COLOURS)) % len(DASHES)]
    return COLOURS[number % len(COLOURS)], dash


def _mark(ax: Axes, approach: Approach) -> None:
    if approach.kind == "crossing":
        ax.plot(approach.value, approach.freq_hz, "x", color="#555555", ms=6, mew=1.4, zorder=5)
        return
    ax.plot(
        approach.value, approach.freq_hz, "o", ms=15, mfc="none", mec="#555555", mew=1.2, zorder=5
    )
    ax.annotate(
        f"veering, {approach.gap_cents:.0f} cents",
        (approach.value, approach.freq_hz),
        xytext=(0, 13),
        textcoords="offset points",
        ha="center",
        fontsize=8,
        color="#333333",
        bbox={"boxstyle": "round,pad=0.15", "fc": "white", "ec": "none", "alpha": 0.8},
    )


def _mark_design(ax: Axes, here: float) -> None:
    ax.axvline(here, color="#555555", lw=1.0, ls=(0, (1, 2)), zorder=1)
    ax.annotate(
        "the design",
        (here, 0.01),
        xycoords=("data", "axes fraction"),
        xytext=(3, 0),
        textcoords="offset points",
        fontsize=8,
        color="#333333",
    )


def _hertz(ax: Axes, low: float, high: float) -> None:
    ticks = [digit * 10.0**power for power in _DECADES for digit in (1, 1.5, 2, 3, 4, 5, 7)]
    ax.yaxis.set_major_locator(FixedLocator([tick for tick in ticks if low <= tick <= high]))
    ax.yaxis.set_major_formatter(ScalarFormatter())
    ax.yaxis.set_minor_locator(NullLocator())


def _notes(ax: Axes, low: float, high: float, a4_hz: float) -> None:
    """Notes on the right: all white ones of a chord if there is room, else the octaves."""
    names = [f"{letter}{octave}" for octave in _OCTAVES for letter in _NOTES]
    inside = [n for n in names if low <= freq_hz_of_note(n, a4_hz) <= high]
    if len(inside) > _FEW_TICKS:
        inside = [n for n in inside if n.startswith("C")]
    right = ax.secondary_yaxis("right")
    right.set_yscale("log")
    right.yaxis.set_major_locator(FixedLocator([freq_hz_of_note(n, a4_hz) for n in inside]))
    right.yaxis.set_major_formatter(FixedFormatter(inside))
    right.yaxis.set_minor_locator(NullLocator())


def _names(ax: Axes, start: float, lines: Sequence[SweepLine]) -> None:
    """Names behind the ends of the lines, kept apart."""
    bottom, top = np.log(ax.get_ylim())
    ends = [float(line.freq_hz[-1]) for line in lines]
    least = -1.0
    for place in sorted(range(len(lines)), key=lambda i: ends[i]):
        height = float((np.log(ends[place]) - bottom) / (top - bottom))
        least = max(height, least + _APART)
        ax.text(
            start,
            least,
            lines[place].label,
            transform=blended_transform_factory(ax.transData, ax.transAxes),
            va="center",
            fontsize=8,
            color=_look(place)[0],
            bbox={"boxstyle": "round,pad=0.1", "fc": "white", "ec": "none"},
        )
