"""Why targets cannot be met: which range or limit stands in the way at the nearest design."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.tune_further import FurtherDimension, further_dimensions
from modewright.tune.demands import slopes_of, worst_cents
from modewright.tune.descent import room_to_move
from modewright.tune.step import Slopes, State, best_step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.chain.tune_task import TuneTask
    from modewright.chain.tune_terrain import TunedBody
    from modewright.tune.demands import Demand

__all__ = ["Obstacle", "Verdict", "judge"]

# Shares of a range: what counts as lying on its end, how far to look around, how far to widen it.
_AT_END, _REACH, _WIDENED = 1e-3, 0.1, 0.1
# An obstacle is what would bring the sum of squares down by a tenth if it gave way.
_HELPS = 0.9
_NEAR_LIMIT = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """Something that stands in the way.

    Parameters
    ----------
    what : str
        Such as ``resonator.arms[2].length at its lowest, 36 mm``.
    if_moved : str
        What was supposed to see what it costs, such as ``1.9 mm lower``.
    now_cents, then_cents : float
        Largest miss as it is, and as slopes promise if the obstacle gave way. [cents]
    is_met_then : bool
        Whether all targets would be met then, by the slopes.
    """

    what: str
    if_moved: str
    now_cents: float
    then_cents: float
    is_met_then: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What stands against a set of targets at the nearest design.

    Parameters
    ----------
    missed : tuple of Demand
        Targets and limits that are not met.
    obstacles : tuple of Obstacle
        What binds, the costliest first; empty if the free dimensions themselves do not suffice.
    ends : tuple of Obstacle
        Ends of ranges that the design lies at, and that would change little if they gave way.
    further : tuple of FurtherDimension
        Dimensions that would help if they were free too.
    """

    missed: tuple[Demand, ...]
    obstacles: tuple[Obstacle, ...]
    ends: tuple[Obstacle, ...]
    further: tuple[FurtherDimension, ...]


def judge(task: TuneTask, body: TunedBody) -> Verdict:
    """Find out what binds at the nearest design.

    Parameters
    ----------
    task : TuneTask
    body : TunedBody
        Where no step within ranges and limits improves matters.

    Returns
    -------
    Verdict

    Notes
    -----
    Each range is widened and each limit dropped in turn, all ranges together as well where more
    than one is used up, and the best step worked out anew from the slopes: what lets the sum of
    squares fall is what binds, a Lagrange multiplier that is not zero.
    """
    slopes = slopes_of(body.wanted, body.sample.slopes)
    lowest, highest = room_to_move(np.clip(body.position, 0.0, 1.0), _REACH)
    lowest, highest = lowest - 1e-9, highest + 1e-9
    held = best_step(body.state, slopes, lowest, highest).promised
    binding, idle = _ranges(task, body, slopes, (lowest, highest), held)
    binding += _limits(body, slopes, (lowest, highest), held)
    return Verdict(
        missed=tuple(d for d in body.wanted if not d.is_met(body.sample.quantities)),
        obstacles=tuple(sorted(binding, key=lambda obstacle: obstacle.then_cents)),
        ends=tuple(idle),
        further=further_dimensions(task, body, slopes, (lowest, highest)),
    )


_Box = tuple["NDArray[np.float64]", "NDArray[np.float64]"]


def _ranges(
    task: TuneTask, body: TunedBody, slopes: Slopes, box: _Box, held: State
) -> tuple[list[Obstacle], list[Obstacle]]:
    """Ends of ranges that bind, and those that the design lies at all the same."""
    at_end = [
        number
        for number, share in enumerate(body.position)
        if share <= _AT_END or share >= 1 - _AT_END
    ]
    binding: list[Obstacle] = []
    idle: list[Obstacle] = []
    for number in at_end:
        obstacle, then = _if_widened(task, body, slopes, box, [number])
        (binding if then.merit < _HELPS * held.merit else idle).append(obstacle)
    if not binding and len(at_end) > 1:
        together, then = _if_widened(task, body, slopes, box, at_end)
        if then.merit < _HELPS * held.merit:
            return [together], []
    return binding, idle


def _if_widened(
    task: TuneTask, body: TunedBody, slopes: Slopes, box: _Box, numbers: list[int]
) -> tuple[Obstacle, State]:
    """Ends of ranges as an obstacle, and what slopes promise if they gave way together."""
    lowest, highest = box[0].copy(), box[1].copy()
    what: list[str] = []
    moved: list[str] = []
    for number in numbers:
        dimension, is_low = task.dimensions[number], bool(body.position[number] <= _AT_END)
        if is_low:
            lowest[number] -= _WIDENED
        else:
            highest[number] += _WIDENED
        end = dimension.text(dimension.lowest if is_low else dimension.highest)
        wider = dimension.text(_WIDENED * (dimension.highest - dimension.lowest))
        what.append(f"{dimension.name} at its {'lowest' if is_low else 'highest'}, {end}")
        moved.append(f"{wider} {'lower' if is_low else 'higher'}")
    then = best_step(body.state, slopes, lowest, highest).promised
    return _obstacle(body, " and ".join(what), " and ".join(moved), body.wanted, then), then


def _obstacle(
    body: TunedBody, what: str, if_moved: str, wanted: Sequence[Demand], then: State
) -> Obstacle:
    return Obstacle(
        what=what,
        if_moved=if_moved,
        now_cents=worst_cents(body.wanted, body.state),
        then_cents=worst_cents(wanted, then),
        is_met_then=then.worst <= 1.0,
    )


def _limits(body: TunedBody, slopes: Slopes, box: _Box, held: State) -> list[Obstacle]:
    found: list[Obstacle] = []
    limits = [demand for demand in body.wanted if demand.is_limit]
    for number, demand in enumerate(limits):
        if body.state.rooms[number] > _NEAR_LIMIT:
            continue
        others = np.arange(len(limits)) != number
        state = State(misses=body.state.misses, rooms=body.state.rooms[others])
        without = Slopes(misses=slopes.misses, rooms=slopes.rooms[others])
        then = best_step(state, without, *box).promised
        if then.merit < _HELPS * held.merit:
            kept = [other for other in body.wanted if other is not demand]
            found.append(_obstacle(body, demand.what, "left out", kept, then))
    return found
