"""All modes of all notes over the compass, on one scale of log frequency."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.pitch import freq_hz_of_note
from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["compass_png"]

_HALF = 0.38
# Lines of the two staves, treble above bass.
_STAVES = ("G2", "B2", "D3", "F3", "A3", "E4", "G4", "B4", "D5", "F5")


def compass_png(
    names: Sequence[str],
    freq_hz: Sequence[NDArray[np.float64]],
    followed: Sequence[Sequence[int]],
    heard: Sequence[str],
    a4_hz: float,
) -> bytes:
    """Chart of the compass.

    Parameters
    ----------
    names : sequence of str
        Of the notes, rising.
    freq_hz : sequence of float arrays
        All modes of each note. [Hz]
    followed : sequence of sequences of int
        For each note, positions of the modes that are tuned or kept even.
    heard : sequence of str
        What each of these is called.
    a4_hz : float
        Tuning reference, for the lines of the staves. [Hz]

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        for i, line in enumerate(_STAVES):
            ax.axhline(
                freq_hz_of_note(line, a4_hz), color="#cccccc", linewidth=0.7, zorder=0,
                label="lines of treble and bass staff" if i == 0 else None,
            )  # fmt: skip
        for place, modes in enumerate(freq_hz):
            ax.hlines(
                modes, place - _HALF, place + _HALF, color="#888888", linewidth=1.6,
                label="all modes" if place == 0 else "",
            )  # fmt: skip
        for number, what in enumerate(heard):
            _follow(
                ax, [f[p[number]] for f, p in zip(freq_hz, followed, strict=True)], number, what
            )
        ax.set_yscale("log")
        ax.set_yticks([100, 200, 500, 1000, 2000, 5000], ["100", "200", "500", "1k", "2k", "5k"])
        ax.set_yticks([], minor=True)
        lowest = min(float(modes.min()) for modes in freq_hz)
        highest = max(float(modes.max()) for modes in freq_hz)
        ax.set_ylim(0.8 * lowest, 1.1 * highest)
        _name_staves(ax, 0.8 * lowest, a4_hz)
        ax.set_xticks(range(len(names)), names, rotation=90 if len(names) > 12 else 0)
        ax.grid(visible=False)
        ax.set_ylabel("frequency in Hz")
        figure.legend(loc="outside upper center", ncols=4)

    return figure_png(draw, width_in=max(6.0, 0.7 * len(names) + 2.0), height_in=5.2)


def _name_staves(ax: Axes, lowest_hz: float, a4_hz: float) -> None:
    """Names of the notes on the lines, at the right end."""
    for line in _STAVES:
        freq_hz = freq_hz_of_note(line, a4_hz)
        if freq_hz >= lowest_hz:
            ax.annotate(
                line, (1.0, freq_hz), xycoords=("axes fraction", "data"), xytext=(3, 0),
                textcoords="offset points", va="center", fontsize=7, color="#777777",
            )  # fmt: skip


def _follow(ax: Axes, freq_hz: Sequence[float], number: int, what: str) -> None:
    places = np.arange(len(freq_hz))
    colour = COLOURS[number % len(COLOURS)]
    ax.plot(places, freq_hz, "o-", color=colour, linewidth=0.8, markersize=5, label=what)
