"""Random pieces: what a batch has in common and what each piece has for itself.

A piece's place in a distribution is that of a normal variable which is the sum of one of its batch
and one of its own, so that the share in common does not change the distribution.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr, ndtri
from scipy.stats.qmc import Halton

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = ["DISTRIBUTIONS", "draw_shares", "sigma_share"]

DISTRIBUTIONS = ("uniform", "triangular", "normal")
_SIGMA = {"uniform": 3**-0.5, "triangular": 6**-0.5, "normal": 0.5}


def sigma_share(distribution: str) -> float:
    """Standard deviation over the limit.

    Parameters
    ----------
    distribution : {"uniform", "triangular", "normal"}

    Returns
    -------
    float

    References
    ----------
    JCGM 100:2008 (Guide to the expression of uncertainty in measurement), 4.3.7 and 4.3.9; from
    memory.
    """
    return _SIGMA[distribution]


def draw_shares(
    distributions: Sequence[str],
    batch_share: Sequence[float],
    *,
    pieces: int,
    batch_size: int,
    seed: int | Sequence[int],
) -> NDArray[np.float64]:
    """Draw deviations as shares of their limits.

    Parameters
    ----------
    distributions : sequence of str
        One for each tolerance.
    batch_share : sequence of float
        Share of variance, 0 to 1, that a batch has in common.
    pieces, batch_size : int
    seed : int or sequence of int

    Returns
    -------
    float array, shape (pieces, tolerances)
        The first pieces are the same however many are drawn.

    Notes
    -----
    What a batch has in common comes from a scrambled sequence of J. H. Halton, Numer. Math. 2
    (1960) 84, which fills its range evenly from the first batches on; what a piece has for itself
    is drawn freely.
    """
    batches = -(-pieces // batch_size)
    common, own = np.sqrt(np.array(batch_share)), np.sqrt(1 - np.array(batch_share))
    first, *sources = np.random.SeedSequence(seed).spawn(1 + batches)
    # Batches are few: drawn freely, their spread would be off by several per cent.
    places = Halton(len(common), seed=np.random.default_rng(first)).random(batches)
    rows = [
        common * ndtri(place)
        + own * np.random.default_rng(source).standard_normal((batch_size, len(common)))
        for place, source in zip(places, sources, strict=True)
    ]
    normal = np.concatenate(rows)[:pieces]
    columns = [
        _placed(normal[:, number], distribution)
        for number, distribution in enumerate(distributions)
    ]
    return np.stack(columns, axis=1)


def _placed(normal: NDArray[np.float64], distribution: str) -> NDArray[np.float64]:
    """Values of a distribution at the same place as those of a standard normal one."""
    if distribution == "normal":
        return _SIGMA["normal"] * normal
    place = ndtr(normal)
    if distribution == "uniform":
        return 2 * place - 1
    tail = 1 - np.sqrt(2 * np.minimum(place, 1 - place))
    return np.where(place < 0.5, -tail, tail)
