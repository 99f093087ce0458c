"""Frequencies, decays and sizes of one body, as the targets of inverse design mean them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.body import body_of_modes
from modewright.chain.hearing import operating_point_of
from modewright.decay import t60_s_from_damping_ratio
from modewright.geometry.clearances import narrowest_widths_m, smallest_inner_radius_m
from modewright.geometry.measures import bounding_box_m
from modewright.tune.quantities import cents_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.chain.places import PlacedDesign
    from modewright.geometry.blank import Blank
    from modewright.modes.basis import Modes, ModeShapes

__all__ = ["HeardModes", "heard_modes", "size_cents"]

# Sizes that an outline does not have are told as far beyond any limit, but finite.
_LEAST_M, _MOST_M = 1e-7, 1e3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeardModes:
    """Modes as they sound, or of the body alone, in rising order.

    Parameters
    ----------
    labels : tuple of str, length modes
    order : int array, shape (modes,)
        Place of each among the modes of the body alone.
    freq_cents : float array, shape (modes,)
        Frequency over 1 Hz. [cents]
    shift_cents : float array, shape (modes,)
        What air, bias and magnets do; 0 for the body alone. [cents]
    decay_cents : float array, shape (modes,)
        T60 over 1 s. [cents]
    shapes : ModeShapes
    """

    labels: tuple[str, ...]
    order: NDArray[np.int64]
    freq_cents: NDArray[np.float64]
    shift_cents: NDArray[np.float64]
    decay_cents: NDArray[np.float64]
    shapes: ModeShapes


def heard_modes(placed: PlacedDesign, modes: Modes, *, is_biased: bool) -> HeardModes:
    """Read frequencies and decays of a body whose modes are known.

    Parameters
    ----------
    placed : PlacedDesign
    modes : Modes
        Of its blank as drawn.
    is_biased : bool
        Whether in air with bias and magnets acting; the body alone otherwise.

    Returns
    -------
    HeardModes

    Raises
    ------
    ModewrightError
        If the sheet snaps onto a plate or pole, or a mode does not ring.
    """
    body = body_of_modes(placed, modes)
    basis = operating_point_of(placed.design, body).basis if is_biased else body.basis
    order = np.array([body.modes.labels.index(label) for label in basis.labels], dtype=np.int64)
    alone = cents_of(body.modes.freq_hz[order])
    heard = cents_of(basis.freq_hz) if is_biased else alone
    return HeardModes(
        labels=basis.labels,
        order=order,
        freq_cents=heard,
        shift_cents=heard - alone,
        decay_cents=cents_of(t60_s_from_damping_ratio(basis.damping_ratio, basis.freq_hz)),
        shapes=basis.shapes,
    )


def size_cents(blank: Blank) -> NDArray[np.float64]:
    """Sizes of an outline in the order of `modewright.tune.quantities.SIZES`, over 1 m. [cents]"""
    low, high = bounding_box_m(blank.outline.outer)
    inner = smallest_inner_radius_m(blank.outline)
    sizes_m = np.array([*narrowest_widths_m(blank.outline), inner, *(high - low)])
    return cents_of(np.clip(sizes_m, _LEAST_M, _MOST_M))
