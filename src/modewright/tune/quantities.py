"""What the search knows of a body at one place: logarithms of frequencies, decays and sizes.

All are in cents of a ratio, 1200 log2 of the value over its unit, so that a target is a sum of few
of them and a number, and a slope says the same for a pitch, a decay and a width.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import check_shape, frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["SIZES", "Quantities", "cents_of"]

SIZES = ("narrowest metal", "narrowest slot", "smallest inner radius", "length", "width")
"""Sizes of an outline that `TuneLimits` can bound, in the order of `Quantities.size_cents`."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Quantities:
    """Logarithms, or their derivatives by the free dimensions along a further axis.

    Parameters
    ----------
    freq_cents : float array, shape (modes, ...)
        Of the frequencies, over 1 Hz. [cents]
    decay_cents : float array, shape (modes, ...)
        Of T60, over 1 s. [cents]
    size_cents : float array, shape (sizes, ...)
        Of the sizes, over 1 m. [cents]
    """

    freq_cents: NDArray[np.float64]
    decay_cents: NDArray[np.float64]
    size_cents: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("freq_cents", "decay_cents", "size_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        further = tuple(self.freq_cents.shape[1:])
        check_shape(self.decay_cents, "decay_cents", self.freq_cents.shape)
        check_shape(self.size_cents, "size_cents", (len(SIZES), *further))

    @property
    def mode_count(self) -> int:
        """Number of modes."""
        return len(self.freq_cents)

    @property
    def stacked(self) -> NDArray[np.float64]:
        """Frequencies, decays and sizes in one array, shape (2 modes + sizes, ...). [cents]"""
        return np.concatenate([self.freq_cents, self.decay_cents, self.size_cents])

    @classmethod
    def of_stacked(cls, stacked: NDArray[np.float64]) -> Quantities:
        """What `stacked` was made of."""
        count = (len(stacked) - len(SIZES)) // 2
        return cls(
            freq_cents=stacked[:count],
            decay_cents=stacked[count : 2 * count],
            size_cents=stacked[2 * count :],
        )


def cents_of(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Logarithm of positive values, 1200 log2. [cents]"""
    return 1200 * np.log2(values)
