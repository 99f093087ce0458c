"""What the held modes of a score reached, against what it wanted of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.sound.timeline import HELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop

__all__ = ["ReachedLevel", "reached_levels"]

# Where the target is this near to its highest, the level has had time to come up.
_HIGH_SHARE = 0.95
# 1 dB; a smaller shortfall is that of an attack that the score cuts short.
_REACHED_SHARE = 10 ** (-1 / 20)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReachedLevel:
    """Highest level that a score wants of one held mode, and what it reached.

    Parameters
    ----------
    mode : int
        Index in the plant.
    label : str
    wanted_m, reached_m : float
        Peak displacement at the reference point; `reached_m` as the observer sees it. [m]
    highest_m : float
        Largest level at which the mode alone can be held. [m]
    highest_by : str
        What limits that.
    """

    mode: int
    label: str
    wanted_m: float
    reached_m: float
    highest_m: float
    highest_by: str

    @property
    def is_short(self) -> bool:
        """Whether more is wanted than can be held, or came."""
        return self.wanted_m > self.highest_m or self.reached_m < _REACHED_SHARE * self.wanted_m

    @property
    def sentence(self) -> str:
        """Both levels and what bounds them."""
        text = (
            f"Mode {self.mode + 1} ({self.label}) was to be held at {self.wanted_m * 1e6:.3g} um "
            f"and reached {self.reached_m * 1e6:.3g} um"
        )
        if self.wanted_m > self.highest_m:
            return f"{text}; the {self.highest_by} allows {self.highest_m * 1e6:.3g} um."
        return f"{text}; the hold is too short for its attack, or other modes take the driver."


def reached_levels(
    loop: ClosedLoop,
    target_m: NDArray[np.float64],
    state: NDArray[np.int8],
    level_m: NDArray[np.floating],
) -> tuple[ReachedLevel, ...]:
    """Compare levels with targets, for every mode that is ever held.

    Parameters
    ----------
    loop : ClosedLoop
    target_m : float array, shape (blocks + 1, regulated)
        [m]
    state : int array, shape (blocks, regulated)
        As in `Timeline`.
    level_m : float array, shape (blocks, regulated)
        At the end of each block. [m]

    Returns
    -------
    tuple of ReachedLevel
    """
    found: list[ReachedLevel] = []
    highest_m, by = loop.authority.highest_level_m, loop.authority.highest_level_by
    for row, mode in enumerate(loop.regulators.modes):
        wanted_m = np.where(state[:, row] == HELD, target_m[1:, row], 0.0)
        most_m = float(wanted_m.max(initial=0.0))
        if most_m == 0:
            continue
        at_most = wanted_m >= _HIGH_SHARE * most_m
        found.append(
            ReachedLevel(
                mode=int(mode),
                label=loop.plant.labels[int(mode)],
                wanted_m=most_m,
                reached_m=float(level_m[at_most, row].max()),
                highest_m=float(highest_m[row]),
                highest_by=by[row],
            )
        )
    return tuple(found)
