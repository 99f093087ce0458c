"""What the warmth of the room does to each mode: pitch, and drift against the observer."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.plots.style import COLOURS, DASHES, figure_png

if TYPE_CHECKING:
    import numpy as np
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["warmth_png"]

_MARKERS = "os^Dv<>P"


def warmth_png(
    temperature_c: NDArray[np.float64],
    drift_cents: NDArray[np.float64],
    drift_over_bandwidth: NDArray[np.float64],
) -> bytes:
    """Draw the drift of every mode over temperature.

    Parameters
    ----------
    temperature_c : float array, shape (temperatures,)
        [°C]
    drift_cents : float array, shape (temperatures, modes)
        Against the pitch at the design's temperature. [cents]
    drift_over_bandwidth : float array, shape (temperatures, modes)
        Over the bandwidth of the observer; 1 and more leaves the mode to itself.

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        pitch, drift = figure.subplots(1, 2)
        for mode in range(drift_cents.shape[1]):
            look = {
                "color": COLOURS[mode % len(COLOURS)],
                "ls": DASHES[mode % len(DASHES)],
                "marker": _MARKERS[mode % len(_MARKERS)],
                "ms": 4.0,
            }
            pitch.plot(temperature_c, drift_cents[:, mode], **look, label=f"mode {mode + 1}")
            drift.plot(temperature_c, drift_over_bandwidth[:, mode], **look)
        drift.axhline(1.0, color="#555555", lw=1.0, ls=(0, (1, 2)))
        drift.annotate(
            "the observer loses the mode", (0.02, 1.0), xycoords=("axes fraction", "data"),
            xytext=(0, 3), textcoords="offset points", fontsize=8, color="#333333",
        )  # fmt: skip
        drift.set_ylim(0.0, 1.15 * max(1.0, float(drift_over_bandwidth.max())))
        for ax in (pitch, drift):
            ax.set_xlabel("temperature in °C")
        pitch.set_ylabel("pitch against the design in cents")
        drift.set_ylabel("drift over observer's bandwidth")
        figure.legend(loc="outside upper center", ncols=6, fontsize=8)

    return figure_png(draw, height_in=3.8)
