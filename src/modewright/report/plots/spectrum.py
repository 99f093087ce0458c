"""Spectrum of a rendered sound with the modes marked."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import signal

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["spectrum_png"]


def spectrum_png(
    signal_values: NDArray[np.float64],
    rate_hz: float,
    mode_freq_hz: NDArray[np.float64],
    title: str,
    unit: str = "V",
) -> bytes:
    """Amplitude spectrum in dB re 1 V, or whatever the unit is.

    Parameters
    ----------
    signal_values : float array, shape (samples,)
        [`unit`]
    rate_hz : float
        [Hz]
    mode_freq_hz : float array
        [Hz]
    title : str
    unit : str

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        window = signal.windows.blackmanharris(len(signal_values))
        amplitude = np.abs(np.fft.rfft(signal_values * window)) * 2 / window.sum()
        freq_hz = np.fft.rfftfreq(len(signal_values), 1 / rate_hz)
        decibel = 20 * np.log10(np.maximum(amplitude, 1e-12))
        for place in mode_freq_hz:
            ax.axvline(place, color="#cccccc", lw=0.8, zorder=0)
        ax.plot(freq_hz[1:], decibel[1:], color=COLOURS[0], lw=0.7)
        ax.set_xscale("log")
        ax.set_xlim(50, min(20e3, rate_hz / 2))
        top = float(decibel.max())
        ax.set_ylim(top - 130, top + 8)
        ax.set_xlabel("frequency in Hz   (grey: modes)")
        ax.set_ylabel(f"amplitude in dB re 1 {unit}")
        ax.set_title(title, loc="left", fontsize=10)

    return figure_png(draw, width_in=8.2, height_in=3.0)
