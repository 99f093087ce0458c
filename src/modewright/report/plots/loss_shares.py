"""Which mechanism takes how much of each mode's energy."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["loss_shares_png"]

_HATCHES = ("", "//", "..", "xx", "\\\\", "--", "++")


def loss_shares_png(mechanisms: tuple[str, ...], loss_factor: NDArray[np.float64]) -> bytes:
    """Stacked bars of the share of each mechanism.

    Parameters
    ----------
    mechanisms : tuple of str
    loss_factor : float array, shape (mechanisms, modes)
        1/Q by mechanism.

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        number = [i + 1 for i in range(loss_factor.shape[1])]
        share = 100 * loss_factor / loss_factor.sum(axis=0)
        base = np.zeros(len(number))
        for index, name in enumerate(mechanisms):
            ax.bar(
                number,
                share[index],
                bottom=base,
                width=0.8,
                color=COLOURS[index % len(COLOURS)],
                hatch=_HATCHES[index % len(_HATCHES)],
                edgecolor="white",
                label=name,
            )
            base = base + share[index]
        ax.set_xlabel("mode")
        ax.set_ylabel("share of the loss in %")
        ax.set_xticks(number)
        ax.set_ylim(0, 100)
        ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8)

    return figure_png(draw, height_in=3.2)
