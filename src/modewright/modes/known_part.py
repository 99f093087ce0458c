"""The part of a derivative of a shape that the known modes make up."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = ["known_part"]


def known_part(
    work: NDArray[np.float64],
    mass: NDArray[np.float64],
    omega2: NDArray[np.float64],
    groups: Sequence[NDArray[np.int64]],
) -> NDArray[np.float64]:
    """Part of each derivative (columns) along the known modes (rows).

    Parameters
    ----------
    work : float array, shape (modes, modes)
        Φᵀ (dK/dp - λ dM/dp) Φ, λ being that of the column.
    mass : float array, shape (modes, modes)
        Φᵀ dM/dp Φ.
    omega2 : float array, shape (modes,)
    groups : sequence of int arrays
        Places of modes that belong together.

    Returns
    -------
    float array, shape (modes, modes)
    """
    together = np.zeros(work.shape, dtype=bool)
    for members in groups:
        together[np.ix_(members, members)] = True
    apart = omega2[None, :] - omega2[:, None]
    mixing = np.where(together, -mass / 2, 0.0)
    return np.divide(work, apart, out=mixing, where=~together)
