"""Pitch of made pieces, and which tolerance it comes from."""

# pyright: reportUnknownMemberType=false

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.plots.style import COLOURS, figure_png

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

__all__ = ["spread_png"]

_BINS = 40


def spread_png(
    pitch_cents: NDArray[np.float64],
    names: Sequence[str],
    sigma_cents: Sequence[float],
    yields: tuple[float, float],
) -> bytes:
    """Draw the pieces by pitch, and one standard deviation of each tolerance.

    Parameters
    ----------
    pitch_cents : float array, shape (pieces,)
        Of mode 1, against the design. [cents]
    names : sequence of str
        Tolerances, the largest first.
    sigma_cents : sequence of float
        [cents]
    yields : tuple of (float, float)
        Shares of good pieces, as cut and trimmed.

    Returns
    -------
    bytes
        PNG.
    """

    def draw(figure: Figure) -> None:
        pieces, causes = figure.subplots(1, 2)
        pieces.hist(pitch_cents, bins=_BINS, color=COLOURS[4])
        pieces.set_xlabel("pitch of mode 1 in cents, as cut")
        pieces.set_ylabel("pieces")
        pieces.set_title(
            f"good: {100 * yields[0]:.1f} % as cut, {100 * yields[1]:.1f} % trimmed", fontsize=10
        )
        rows = range(len(names))
        causes.barh(rows, [abs(value) for value in sigma_cents], color=COLOURS[0])
        causes.set_yticks(rows, list(names))
        causes.invert_yaxis()
        causes.set_xlabel("standard deviation in cents")

    return figure_png(draw)
