"""One step of the search: the best change of the free dimensions as far as slopes can tell.

What is wanted is of two sorts. A *miss* should be zero (a frequency off its note), a *room* must
not be negative (the distance to a mode to keep away from). Both are counted in tolerances, so that
a strict wish weighs more than a lenient one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import lsq_linear

from modewright.checks import check_shape, frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Slopes", "State", "Step", "best_step"]

# Weight of the way itself: of all steps that do equally well the shortest is taken.
_SHORTEST = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """How far one place of the search is from what is wanted.

    Parameters
    ----------
    misses : float array, shape (wants,)
        Wanted to be zero, in tolerances.
    rooms : float array, shape (limits,)
        Wanted not to be negative, in tolerances.
    """

    misses: NDArray[np.float64]
    rooms: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "misses", frozen_array(self.misses))
        object.__setattr__(self, "rooms", frozen_array(self.rooms))
        check_shape(self.misses, "misses", (None,))
        check_shape(self.rooms, "rooms", (None,))

    @property
    def merit(self) -> float:
        """Sum of squares of all misses and of all rooms that are overdrawn."""
        overdrawn = np.minimum(self.rooms, 0.0)
        return float(self.misses @ self.misses + overdrawn @ overdrawn)

    @property
    def worst(self) -> float:
        """Largest miss or overdraft, in tolerances; 0 if there is none."""
        return float(max(np.abs(self.misses).max(initial=0.0), (-self.rooms).max(initial=0.0)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slopes:
    """Derivatives of a state.

    Parameters
    ----------
    misses : float array, shape (wants, dimensions)
    rooms : float array, shape (limits, dimensions)
        By the free dimensions, each counted in its range from 0 to 1; in tolerances.
    """

    misses: NDArray[np.float64]
    rooms: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "misses", frozen_array(self.misses))
        object.__setattr__(self, "rooms", frozen_array(self.rooms))
        check_shape(self.rooms, "rooms", (None, self.misses.shape[1]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Step:
    """A change of the free dimensions and what the slopes promise of it.

    Parameters
    ----------
    change : float array, shape (dimensions,)
        In shares of the range of each.
    promised : State
        After the step, as far as slopes can tell.
    """

    change: NDArray[np.float64]
    promised: State


def best_step(
    state: State,
    slopes: Slopes,
    lowest: NDArray[np.float64],
    highest: NDArray[np.float64],
) -> Step:
    """Step within a box that brings all misses and overdrafts nearest to zero.

    Linear least squares with bounds. A limit enters as an equation with a slack that may only be
    positive: room + slope · change - slack = 0.

    Parameters
    ----------
    state : State
        Here.
    slopes : Slopes
        Here.
    lowest, highest : float array, shape (dimensions,)
        Bounds of the change, lowest < highest.

    Returns
    -------
    Step

    References
    ----------
    J. Nocedal and S. J. Wright, Numerical Optimization, 2nd ed., Springer 2006, ch. 10 (the
    Gauss-Newton step) and ch. 16 (slacks for inequalities).
    """
    wants, limits, count = len(state.misses), len(state.rooms), len(lowest)
    matrix = np.zeros((wants + limits + count, count + limits))
    matrix[:wants, :count] = slopes.misses
    matrix[wants : wants + limits, :count] = slopes.rooms
    matrix[wants : wants + limits, count:] = -np.eye(limits)
    matrix[wants + limits :, :count] = _SHORTEST * np.eye(count)
    wanted = -np.concatenate([state.misses, state.rooms, np.zeros(count)])
    found = lsq_linear(
        matrix,
        wanted,
        bounds=(
            np.concatenate([lowest, np.zeros(limits)]),
            np.concatenate([highest, np.full(limits, np.inf)]),
        ),
        method="bvls",
    )
    change = np.clip(found.x[:count], lowest, highest)
    promised = State(
        misses=state.misses + slopes.misses @ change, rooms=state.rooms + slopes.rooms @ change
    )
    return Step(change=frozen_array(change), promised=promised)
