"""Pieces as a workshop makes them: cut, trimmed to pitch, and held against the limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.tolerances.draws import draw_shares
from modewright.tolerances.response import trimmed
from modewright.tolerances.verdict import yield_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.tolerances.response import Response
    from modewright.tolerances.settings import SpreadSettings
    from modewright.tolerances.verdict import Yield

__all__ = ["MadePieces", "Workshop", "missed_cents"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MadePieces:
    """Changes of the figures of pieces.

    Parameters
    ----------
    changes, left : float array, shape (pieces, figures)
        As cut, and after the pitch is trimmed; `left` is `changes` without a trim.
    moved : float array, shape (pieces,)
        By how many steps of a thousandth the trimmed number was changed. This and `left` are not a
        number for a piece that cannot be trimmed.
    """

    changes: NDArray[np.float64]
    left: NDArray[np.float64]
    moved: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Workshop:
    """How pieces of one design come out, and what is asked of them.

    Parameters
    ----------
    settings : SpreadSettings
    response : Response
        Of each tolerance, per share of its limit.
    trim : Response
        Of the trimmed number, per step of a thousandth.
    trim_reach : tuple of float
        Least and most of such steps that a piece may be trimmed by.
    margins : float array, shape (margins,)
        Of the design itself.
    has_batches : bool
        Whether pieces of one batch have anything in common.
    """

    settings: SpreadSettings
    response: Response
    trim: Response
    trim_reach: tuple[float, float]
    margins: NDArray[np.float64]
    has_batches: bool

    def make(self, shares: NDArray[np.float64], missed: NDArray[np.float64]) -> MadePieces:
        """Make pieces.

        Parameters
        ----------
        shares : float array, shape (pieces, tolerances)
            How far off each is, in shares of the limits.
        missed : float array, shape (pieces,)
            By how much the trimming leaves the pitch off; from `missed_cents`. [cents]
        """
        changes = self.response.changes(shares)
        if not self.settings.trim:
            return MadePieces(changes=changes, left=changes, moved=np.zeros(len(shares)))
        left, moved = trimmed(changes, self.trim, missed, reach=self.trim_reach)
        return MadePieces(changes=changes, left=left, moved=moved)

    def judge(self, changes: NDArray[np.float64]) -> Yield:
        """Share of pieces with these changes that keep every limit."""
        return yield_of(
            self.settings.limits,
            changes,
            self.margins,
            self.settings.modes,
            batch_size=self.settings.batch_size if self.has_batches else 1,
        )

    def bought(
        self, shares: NDArray[np.float64], missed: NDArray[np.float64]
    ) -> tuple[tuple[Yield, Yield], ...]:
        """Yields as cut and as trimmed with each tolerance halved."""
        found: list[tuple[Yield, Yield]] = []
        for number in range(shares.shape[1]):
            halved = shares.copy()
            halved[:, number] /= 2
            better = self.make(halved, missed)
            found.append((self.judge(better.changes), self.judge(better.left)))
        return tuple(found)


def missed_cents(settings: SpreadSettings, pieces: int) -> NDArray[np.float64]:
    """Pitch after trimming, drawn apart from the pieces themselves, shape (pieces,). [cents]"""
    if not settings.trim:
        return np.zeros(pieces)
    shares = draw_shares(
        [settings.trim_distribution],
        [0.0],
        pieces=pieces,
        batch_size=settings.batch_size,
        seed=(settings.seed, 2),
    )
    return settings.trim_error_cents * shares[:, 0]
