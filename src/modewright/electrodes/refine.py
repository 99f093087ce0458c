"""Move the edges of plates a little until what they really hear of the rejected modes is nothing.

Cleaning, tracks, slits, bent gaps and the coarse triangles of the choice all let something through.
It is driven to zero by adding small parts of the rejected modes themselves to the sum whose zero
line is the edge: Newton's method with the derivative of the ideal plate, corrected from step to
step by what the real ones did.

References
----------
C. G. Broyden, Math. Comput. 19 (1965) 577 (correction of the derivative; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from shapely import Polygon

__all__ = ["Refined", "refine_plates"]

_STEPS = 14
_HALVINGS = 5
_SMALL_SHARE = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Refined:
    """Plates after their edges have been moved.

    Parameters
    ----------
    plates : tuple of Polygon
        [m]
    level : float array, shape (points,)
        The sum whose zero line is the edge.
    leak : float array, shape (rejected,)
        What is left, in the unit of the measure.
    """

    plates: tuple[Polygon, ...]
    level: NDArray[np.float64]
    leak: NDArray[np.float64]


def refine_plates(
    draw: Callable[[NDArray[np.float64]], tuple[Polygon, ...] | None],
    measure: Callable[[tuple[Polygon, ...]], NDArray[np.float64]],
    level: NDArray[np.float64],
    added: NDArray[np.float64],
    change: NDArray[np.float64],
    *,
    small: float = 2e-4,
) -> Refined | None:
    """Find the level whose plates leak nothing.

    Parameters
    ----------
    draw : callable
        From a level to plates; None if it makes none.
    measure : callable
        From plates to what they hear of each rejected mode, as a share of what is wanted.
    level : float array, shape (points,)
        To begin with.
    added : float array, shape (points, rejected)
        What may be added to it.
    change : float array, shape (rejected, rejected)
        About how much the measure changes with each.
    small : float
        Leak that is small enough.

    Returns
    -------
    Refined or None
        The best that was found; None if not even the first level makes plates.
    """
    plates = draw(level)
    if plates is None:
        return None
    best = Refined(plates=plates, level=level, leak=measure(plates))
    change = change + _SMALL_SHARE * np.eye(len(change)) * np.abs(np.diag(change)).max(initial=0)
    for _ in range(_STEPS):
        if len(added.T) == 0 or np.abs(best.leak).max() < small:
            break
        solution = np.linalg.lstsq(change, best.leak, rcond=1e-10)[0]
        step = -np.asarray(solution, dtype=np.float64)
        taken = _taken(draw, measure, best, added, step)
        if taken is None:
            break
        size, found = taken
        moved = size * step
        # Broyden's correction: afterwards the derivative explains the step that was made.
        missed = (found.leak - best.leak) - change @ moved
        change = change + np.outer(missed, moved) / (moved @ moved)
        if np.linalg.norm(found.leak) < np.linalg.norm(best.leak):
            best = found
    return best


def _taken(
    draw: Callable[[NDArray[np.float64]], tuple[Polygon, ...] | None],
    measure: Callable[[tuple[Polygon, ...]], NDArray[np.float64]],
    start: Refined,
    added: NDArray[np.float64],
    step: NDArray[np.float64],
) -> tuple[float, Refined] | None:
    """The step, or as much of it as leaves plates that leak less than twice as much."""
    size = 1.0
    for _ in range(_HALVINGS):
        level = start.level + added @ (size * step)
        plates = draw(level)
        if plates is not None:
            leak = measure(plates)
            if np.linalg.norm(leak) < 2 * np.linalg.norm(start.leak):
                return size, Refined(plates=plates, level=level, leak=leak)
        size /= 2
    return None
