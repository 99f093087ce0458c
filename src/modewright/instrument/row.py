"""The ``[layout]`` section: notes side by side in a row on the base, roots on one line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.parameters import quantity

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["RowLayout", "row_length_m", "row_places_m"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RowLayout:
    """A row of notes, lowest first, each beside the next."""

    spacing_m: float = quantity(
        "m", "Least distance between two neighbouring bodies.", default=5e-3, show="mm",
        at_least=0.0, plausible=(5e-4, 0.5),
    )  # fmt: skip
    pitch_m: float | None = quantity(
        "m", "Distance from middle to middle; as small as the spacing allows if left out.",
        default=None, show="mm", above=0.0, plausible=(2e-3, 1.0),
    )  # fmt: skip
    edge_m: float = quantity(
        "m", "From the outermost bodies to the ends of the base.", default=10e-3, show="mm",
        at_least=0.0, plausible=(0.0, 0.5),
    )  # fmt: skip


def row_places_m(layout: RowLayout, width_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Middle of each body along the row, from the middle of the row. [m]

    Parameters
    ----------
    layout : RowLayout
    width_m : float array, shape (notes,)
        Of each body. [m]

    Returns
    -------
    float array, shape (notes,)
        Rising; where a wanted pitch leaves less than the spacing, bodies stand farther apart.
    """
    least_m = (width_m[1:] + width_m[:-1]) / 2 + layout.spacing_m
    steps_m = least_m if layout.pitch_m is None else np.maximum(least_m, layout.pitch_m)
    places_m = np.concatenate([[0.0], np.cumsum(steps_m)])
    middle_m = (places_m[0] - width_m[0] / 2 + places_m[-1] + width_m[-1] / 2) / 2
    return places_m - middle_m


def row_length_m(
    layout: RowLayout, width_m: NDArray[np.float64], places_m: NDArray[np.float64]
) -> float:
    """Length of base that a row takes, with both edges. [m]"""
    span_m = places_m[-1] + width_m[-1] / 2 - places_m[0] + width_m[0] / 2
    return float(span_m) + 2 * layout.edge_m
