"""Gain and phase of every stage between the sheet and the driver's force."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import COLOURS, DASHES, figure_png

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["signal_path_png"]


def signal_path_png(
    freq_hz: NDArray[np.float64],
    names: tuple[str, ...],
    responses: NDArray[np.complex128],
    mode_freq_hz: NDArray[np.float64],
) -> bytes:
    """Phase of each stage and of the whole, with the modes marked.

    Parameters
    ----------
    freq_hz : float array, shape (freqs,)
        [Hz]
    names : tuple of str
        Of the stages.
    responses : complex array, shape (stages, freqs)
        Each stage's own, any unit.
    mode_freq_hz : float array
        Where the treated modes lie. [Hz]

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        gain, phase = figure.subplots(1, 2)
        whole = np.prod(responses, axis=0)
        curves = [*zip(names, responses, strict=True), ("whole path", whole)]
        middle = len(freq_hz) // 2
        # Beyond the treated modes delay turns the phase many times, which nobody needs to see.
        highest_hz = 1.5 * float(mode_freq_hz.max(initial=1000.0))
        for index, (name, response) in enumerate(curves):
            is_whole = index == len(curves) - 1
            style = {
                "color": "black" if is_whole else COLOURS[index % (len(COLOURS) - 1)],
                "ls": "-" if is_whole else DASHES[index % len(DASHES)],
                "lw": 1.8 if is_whole else 1.1,
            }
            relative = np.abs(response) / max(float(np.abs(response[middle])), 1e-300)
            gain.plot(freq_hz, 20 * np.log10(np.maximum(relative, 1e-9)), **style)
            angle = np.unwrap(np.angle(response))
            phase.plot(freq_hz, np.degrees(angle), label=name, **style)
        for ax, label in ((gain, "gain in dB re 630 Hz"), (phase, "phase in degrees")):
            ax.set_xscale("log")
            ax.set_xlabel("frequency in Hz")
            ax.set_ylabel(label)
            for place in mode_freq_hz:
                ax.axvline(place, color="#bbbbbb", lw=0.7, zorder=0)
            ax.set_xlim(float(freq_hz[0]), highest_hz)
        gain.set_ylim(-12, 3)
        turn = np.degrees(np.unwrap(np.angle(whole)))[freq_hz <= highest_hz]
        phase.set_ylim(float(turn.min()) * 1.05, 30)
        phase.legend(fontsize=7, loc="lower left")

    return figure_png(draw, width_in=8.4, height_in=3.8)
