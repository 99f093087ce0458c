"""Why targets cannot be met: which range or limit stands in the way at the nearest design."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.tune_further import FurtherDimension, further_dimensions
from modewright.tune.demands import slopes_of
from modewright.tune.descent import room_to_move
from modewright.tune.step import Slopes, State, best_step

if TYPE_CHECKING:
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
    worst_now, worst_then : float
        Largest miss in tolerances as it is, and as slopes promise if the obstacle gave way.
    """

    what: str
    if_moved: str
    worst_now: float
    worst_then: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What stands against a set of targets at the nearest design.

    Parameters
    ----------
    missed : tuple of Demand
        Targets and limits that are not met.
    obstacles : tuple of Obstacle
        What binds, the costliest first; empty if the free dimensions themselves do not suffice.
    further : tuple of FurtherDimension
        Dimensions that would help if they were free too.
    """

    missed: tuple[Demand, ...]
    obstacles: tuple[Obstacle, ...]
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
    Each range is widened and each limit dropped in turn, and the best step worked out anew from the
    slopes: what lets the sum of squares fall is what binds, a Lagrange multiplier that is not zero.
    """
    slopes = slopes_of(body.wanted, body.sample.slopes)
    lowest, highest = room_to_move(np.clip(body.position, 0.0, 1.0), _REACH)
    lowest, highest = lowest - 1e-9, highest + 1e-9
    held = best_step(body.state, slopes, lowest, highest).promised
    found = [
        *_ranges(task, body, slopes, (lowest, highest), held),
        *_limits(body, slopes, (lowest, highest), held),
    ]
    return Verdict(
        missed=tuple(d for d in body.wanted if not d.is_met(body.sample.quantities)),
        obstacles=tuple(sorted(found, key=lambda obstacle: obstacle.worst_then)),
        further=further_dimensions(task, body, slopes, (lowest, highest)),
    )


_Box = tuple["NDArray[np.float64]", "NDArray[np.float64]"]


def _ranges(
    task: TuneTask, body: TunedBody, slopes: Slopes, box: _Box, held: State
) -> list[Obstacle]:
    found: list[Obstacle] = []
    for number, (dimension, share) in enumerate(zip(task.dimensions, body.position, strict=True)):
        is_low = share <= _AT_END
        if not is_low and share < 1 - _AT_END:
            continue
        lowest, highest = box[0].copy(), box[1].copy()
        if is_low:
            lowest[number] -= _WIDENED
        else:
            highest[number] += _WIDENED
        then = best_step(body.state, slopes, lowest, highest).promised
        if then.merit < _HELPS * held.merit:
            end = dimension.lowest if is_low else dimension.highest
            moved = dimension.text(_WIDENED * (dimension.highest - dimension.lowest))
            found.append(
                Obstacle(
                    what=f"{dimension.name} at its {'lowest' if is_low else 'highest'}, "
                    f"{dimension.text(end)}",
                    if_moved=f"{moved} {'lower' if is_low else 'higher'}",
                    worst_now=body.state.worst,
                    worst_then=then.worst,
                )
            )
    return found


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
            found.append(
                Obstacle(
                    what=demand.what,
                    if_moved="left out",
                    worst_now=body.state.worst,
                    worst_then=then.worst,
                )
            )
    return found
