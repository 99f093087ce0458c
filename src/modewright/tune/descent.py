"""From a start to the nearest place where everything wanted is met, or as nearly as can be.

Gauss-Newton steps inside a box that grows while the slopes keep their promises and shrinks when
they do not. The search knows nothing of reeds: a landscape tells it how far a place is off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

import numpy as np

from modewright.tune.step import State, best_step

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.tune.step import Slopes, Step

__all__ = ["Descent", "Landscape", "Place", "descend", "room_to_move", "settle"]

_FIRST_REACH, _LONGEST_REACH, _SHORTEST_REACH = 0.25, 1.0, 3e-5
_KEPT_WELL, _KEPT_BADLY = 0.75, 0.25
_STUCK_SHARE = 2e-3
# A visit that lowers the merit by less than this share is idle; a few of them in a row are the end.
_IDLE_SHARE = 0.04
_IDLE_VISITS = 3
_MOST_STEPS = 40
_CHOOSY_TRIES, _AIM_SHARE, _ASIDE = 3, 0.5, 0.9


class Place(Protocol):
    """A visited place of the search."""

    @property
    def position(self) -> NDArray[np.float64]:
        """Free dimensions, each in its range from 0 to 1, shape (dimensions,)."""
        ...

    @property
    def state(self) -> State:
        """How far it is from what is wanted."""
        ...


PlaceT = TypeVar("PlaceT", bound=Place)


class Landscape(Protocol[PlaceT]):
    """What the search walks on."""

    def visit(self, position: NDArray[np.float64], near: PlaceT) -> PlaceT | None:
        """Look at a position, coming from a place near it; None if no sound body is there."""
        ...

    def slopes(self, place: PlaceT) -> Slopes:
        """Derivatives at a visited place."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Descent(Generic[PlaceT]):
    """Where a descent ended.

    Parameters
    ----------
    place : Place
        The best one seen.
    slopes : Slopes
        Of the last place at which they were needed, close to that one.
    is_met : bool
        Whether it is within the tolerance.
    visits : int
        How many positions were looked at, those without a body included.
    gave_up : bool
        Whether it was left off on the way.
    """

    place: PlaceT
    slopes: Slopes
    is_met: bool
    visits: int
    gave_up: bool = False


def room_to_move(
    position: NDArray[np.float64], reach: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest change that stays within reach and within the ranges."""
    return np.maximum(-position, -reach), np.minimum(1.0 - position, reach)


def descend(
    landscape: Landscape[PlaceT],
    start: PlaceT,
    *,
    tolerance: float,
    gives_up: Callable[[Step, PlaceT], bool] | None = None,
) -> Descent[PlaceT]:
    """Walk downhill from a start.

    Parameters
    ----------
    landscape : Landscape
    start : Place
        A visited place.
    tolerance : float
        Ends when no miss and no overdraft exceeds it, > 0, in tolerances.
    gives_up : callable, optional
        Told each step before it is taken, with the place it starts from; ends the descent there
        if true, such as when it leads to what is known already.

    Returns
    -------
    Descent
        Not met: no step within the ranges improves matters.
    """
    place, reach, visits = start, _FIRST_REACH, 0
    slopes = landscape.slopes(place)
    gave_up, idle = False, 0
    for _ in range(_MOST_STEPS):
        if place.state.worst <= tolerance:
            break
        step = best_step(place.state, slopes, *room_to_move(place.position, reach))
        gave_up = gives_up is not None and gives_up(step, place)
        if gave_up or _is_stuck(place.state, step, reach):
            break
        found = landscape.visit(place.position + step.change, place)
        visits += 1
        kept = -np.inf if found is None else _kept_share(place.state, step.promised, found.state)
        is_gain = found is not None and found.state.merit < place.state.merit * (1 - _IDLE_SHARE)
        idle = 0 if is_gain else idle + 1
        reach = _next_reach(reach, float(np.abs(step.change).max()), kept)
        if found is not None and kept > 0:
            place = found
            if place.state.worst > tolerance:
                slopes = landscape.slopes(place)
        if reach < _SHORTEST_REACH or idle >= _IDLE_VISITS:
            break
    return Descent(
        place=place,
        slopes=slopes,
        is_met=place.state.worst <= tolerance,
        visits=visits,
        gave_up=gave_up,
    )


def settle(
    landscape: Landscape[PlaceT], near: PlaceT, *, tolerance: float, tries: int, seed: int
) -> tuple[PlaceT, int]:
    """Come the last bit nearer where the landscape jumps by about the tolerance.

    Bodies that differ by little may be meshed differently, and then their frequencies jump by a
    cent or two, now up and now down. Every place seen tells by its slopes where the answer should
    be; the next try goes to the mean of what all of them tell, a little to one side.

    Parameters
    ----------
    landscape : Landscape
    near : Place
        Within reach of one step.
    tolerance : float
        A place is good if no miss and no overdraft exceeds it, > 0, in tolerances.
    tries : int
        Most steps to take.
    seed : int
        Of the sides.

    Returns
    -------
    Place
        The best one seen.
    int
        How many positions were looked at.
    """
    rng = np.random.default_rng(seed)
    best = near
    told = [near.position + _answer(landscape, near, np.zeros_like(near.state.misses))]
    for number in range(tries):
        # Whoever has tried in vain is content with less.
        if best.state.worst <= (_AIM_SHARE if number < _CHOOSY_TRIES else 1.0) * tolerance:
            return best, number
        spread = _ASIDE * tolerance if number > 0 else 0.0
        aside = rng.uniform(-spread, spread, len(near.state.misses))
        straight = _answer(landscape, best, np.zeros_like(aside))
        aim = np.mean(told, axis=0) + _answer(landscape, best, aside) - straight
        found = landscape.visit(np.clip(aim, 0.0, 1.0), best)
        if found is not None:
            told.append(found.position + _answer(landscape, found, np.zeros_like(aside)))
            best = min(best, found, key=lambda p: p.state.worst)
    return best, tries


def _answer(
    landscape: Landscape[PlaceT], place: PlaceT, misses: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Change that slopes ask for to come from a place to these misses."""
    aim = State(misses=place.state.misses - misses, rooms=place.state.rooms)
    box = room_to_move(place.position, _FIRST_REACH)
    return best_step(aim, landscape.slopes(place), *box).change


def _kept_share(before: State, promised: State, found: State) -> float:
    """Share of the promised improvement that came true."""
    return (before.merit - found.merit) / max(before.merit - promised.merit, 1e-12)


def _next_reach(reach: float, gone: float, kept: float) -> float:
    if kept < _KEPT_BADLY:
        return gone * _KEPT_BADLY
    if kept > _KEPT_WELL:
        return min(max(reach, 2 * gone), _LONGEST_REACH)
    return reach


def _is_stuck(state: State, step: Step, reach: float) -> bool:
    """Whether even slopes promise next to nothing, the whole reach allowed."""
    return step.promised.merit > state.merit * (1 - _STUCK_SHARE * min(1.0, reach))
