"""The open loop around the critical point -1."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["open_loop_png"]


def open_loop_png(
    freq_hz: NDArray[np.float64], response: NDArray[np.complex128], margin_text: str
) -> bytes:
    """Curve of the open loop, close to -1 and against frequency.

    Parameters
    ----------
    freq_hz : float array, shape (freqs,)
        Rising. [Hz]
    response : complex array, shape (freqs,)
        L; the loop is unstable if it turns around -1.
    margin_text : str
        Said in the title.

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        plane, level = figure.subplots(1, 2, width_ratios=(1, 1.35))
        turn = np.linspace(0, 2 * np.pi, 200)
        plane.plot(np.cos(turn), np.sin(turn), color="#999999", lw=0.8, ls=":")
        plane.plot(response.real, response.imag, color=COLOURS[0], lw=1.1)
        plane.plot([-1], [0], "+", color=COLOURS[1], ms=12, mew=2)
        plane.annotate("-1", (-1, 0), textcoords="offset points", xytext=(-4, 7))
        plane.set_xlim(-2.2, 2.2)
        plane.set_ylim(-2.2, 2.2)
        plane.set_aspect("equal")
        plane.set_xlabel("real part")
        plane.set_ylabel("imaginary part")
        decibel = 20 * np.log10(np.maximum(np.abs(response), 1e-9))
        level.plot(freq_hz, decibel, color=COLOURS[0], lw=1.0)
        level.axhline(0, color=COLOURS[1], lw=0.8, ls="--")
        level.set_xscale("log")
        level.set_ylim(max(-90, float(decibel.min())), float(decibel.max()) + 6)
        level.set_xlim(20, float(freq_hz.max()))
        level.set_xlabel("frequency in Hz")
        level.set_ylabel("open-loop gain in dB")
        figure.suptitle(margin_text, fontsize=10)

    return figure_png(draw, width_in=8.2, height_in=3.7)
