"""Several starts, several answers: the search around the descent.

Descents run on a rough landscape, which is quick to walk. Where one of them arrives, an exact one
takes over for the last few cents. The search knows no bodies, only landscapes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Generic, Protocol

import numpy as np
from scipy.stats import qmc

from modewright.tune.descent import Descent, Landscape, PlaceT, descend, settle

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from modewright.tune.step import Step

__all__ = ["Attempt", "Terrain", "are_alike", "search", "spread_starts"]

# A rough descent need not come nearer, in tolerances: the landscapes differ by more.
_ROUGH_WORST = 8.0
# An exact one descends to where whole steps can settle it, well inside the tolerance if they can.
_NEAR_WORST, _EXACT_WORST, _ACCEPTABLE = 4.0, 0.95, 1.0
_TRIES = 14
# Who misses by more than this even where a rough descent ends is far from any answer: the exact
# landscape tells how far, and walking on it would tell hardly anything else.
_FAR_WORST = 100.0
# Answers closer than this share of the ranges are one.
_ALIKE = 0.05
_IDLE_STARTS, _IDLE_STARTS_IN_VAIN = 3, 6
# So many ends whose merits differ by less than a share of the least are taken for the end of it:
# fewer where they are the same to a hundredth.
_SAME_ENDS = ((4, 0.1), (3, 0.01))


class Terrain(Protocol[PlaceT]):
    """The same ground as a rough and an exact landscape."""

    @property
    def rough(self) -> Landscape[PlaceT]:
        """Quick to walk on."""
        ...

    def start(self, position: NDArray[np.float64]) -> PlaceT | None:
        """Enter the rough landscape; None if no sound body is there."""
        ...

    def exact(self, end: Descent[PlaceT]) -> tuple[Landscape[PlaceT], PlaceT] | None:
        """Go over to the exact landscape where a rough descent ended; None if it cannot be."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Attempt(Generic[PlaceT]):
    """What came of one start.

    Parameters
    ----------
    number : int
        Of the start, 0 being the design as it is.
    start : float array, shape (dimensions,)
        Its position.
    descent : Descent or None
        Where it led; None if no sound body is at the start.
    is_exact : bool
        Whether the descent ended on the exact landscape.
    is_known : bool
        Whether it leads to where an earlier attempt has ended.
    """

    number: int
    start: NDArray[np.float64]
    descent: Descent[PlaceT] | None
    is_exact: bool = False
    is_known: bool = False

    @property
    def is_answer(self) -> bool:
        """Whether it is a new answer that meets everything."""
        return self.leads_to_answer and self._worst <= _ACCEPTABLE

    @property
    def leads_to_answer(self) -> bool:
        """Whether it is a new answer but for what jumps of the exact landscape may hide."""
        return self.is_exact and not self.is_known and self._worst <= _NEAR_WORST

    @property
    def _worst(self) -> float:
        return np.inf if self.descent is None else self.descent.place.state.worst


def spread_starts(count: int, dimensions: int, seed: int) -> NDArray[np.float64]:
    """Positions spread evenly over the ranges.

    Parameters
    ----------
    count, dimensions : int
    seed : int
        The same seed gives the same starts, and a larger count only adds to them.

    Returns
    -------
    float array, shape (count, dimensions)
        Each from 0 to 1.

    References
    ----------
    I. M. Sobol', On the distribution of points in a cube and the approximate evaluation of
    integrals, USSR Comput. Math. Math. Phys. 7 (1967), 86-112; from memory.
    """
    if count == 0:
        return np.zeros((0, dimensions))
    sampler = qmc.Sobol(dimensions, scramble=True, rng=np.random.default_rng(seed))
    drawn = sampler.random_base2(int(np.ceil(np.log2(max(count, 2)))))
    return np.asarray(drawn[:count], dtype=float)


def are_alike(position: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    """Whether two positions are one answer: nowhere more apart than a twentieth of the range."""
    return bool(np.abs(position - other).max() < _ALIKE)


def search(
    terrain: Terrain[PlaceT],
    starts: Sequence[NDArray[np.float64]],
    *,
    wanted: int,
) -> Iterator[Attempt[PlaceT]]:
    """Descend from one start after another until there are answers enough.

    Ends early when several starts in a row lead to what is known already, or when several end at
    what is equally far from being an answer and none comes nearer. If no start leads near enough to
    go over to the exact landscape, the best of them does so at the end.

    Parameters
    ----------
    terrain : Terrain
    starts : sequence of float arrays, shape (dimensions,)
        The first one is the design as it is.
    wanted : int
        How many distinct answers are enough.

    Yields
    ------
    Attempt
        After each start, so that a search that is stopped loses nothing.
    """
    ends: list[NDArray[np.float64]] = []
    failed: list[Attempt[PlaceT]] = []
    answers = idle = 0
    patience = _IDLE_STARTS_IN_VAIN
    for number, position in enumerate(starts):
        attempt = _attempt(terrain, number, position, ends)
        yield attempt
        if attempt.is_exact and attempt.descent is not None:
            ends.append(attempt.descent.place.position)
        elif attempt.descent is not None and not attempt.is_known:
            failed.append(attempt)
        answers += attempt.is_answer
        idle = 0 if attempt.is_answer else idle + 1
        if attempt.leads_to_answer:
            patience = _IDLE_STARTS
        if answers >= wanted or (ends and idle >= patience):
            return
        if not ends and _lead_to_one_end(failed):
            break
    if not ends and failed:
        yield _made_exact(terrain, min(failed, key=_merit))


def _lead_to_one_end(failed: Sequence[Attempt[PlaceT]]) -> bool:
    merits = [_merit(attempt) for attempt in failed]
    least = min(merits, default=np.inf)
    return any(
        sum(merit <= (1 + share) * least for merit in merits) >= count
        for count, share in _SAME_ENDS
    )


def _merit(attempt: Attempt[PlaceT]) -> float:
    return np.inf if attempt.descent is None else attempt.descent.place.state.merit


def _attempt(
    terrain: Terrain[PlaceT],
    number: int,
    position: NDArray[np.float64],
    known: Sequence[NDArray[np.float64]],
) -> Attempt[PlaceT]:
    start = terrain.start(position)
    if start is None:
        return Attempt(number=number, start=position, descent=None)

    def leads_to_known(step: Step, place: PlaceT) -> bool:
        ahead = place.position + step.change
        return step.promised.merit < 0.01 * place.state.merit and any(
            are_alike(ahead, answer) for answer in known
        )

    end = descend(terrain.rough, start, tolerance=_ROUGH_WORST, gives_up=leads_to_known)
    is_known = end.gave_up or any(are_alike(end.place.position, answer) for answer in known)
    rough = Attempt(number=number, start=position, descent=end, is_known=is_known)
    if is_known or not end.is_met:
        return rough
    exact = _made_exact(terrain, rough)
    # The last steps may lead on to what is known, where a whole line of places would do.
    is_known = exact.descent is not None and any(
        are_alike(exact.descent.place.position, answer) for answer in known
    )
    return replace(exact, is_known=is_known)


def _made_exact(terrain: Terrain[PlaceT], rough: Attempt[PlaceT]) -> Attempt[PlaceT]:
    if rough.descent is None:
        return rough
    entered = terrain.exact(rough.descent)
    if entered is None:
        return rough
    landscape, place = entered
    if rough.descent.place.state.worst > _FAR_WORST:
        end = Descent(place=place, slopes=landscape.slopes(place), is_met=False, visits=1)
        return Attempt(number=rough.number, start=rough.start, descent=end, is_exact=True)
    end = descend(landscape, place, tolerance=_NEAR_WORST)
    if end.is_met:
        settled, tries = settle(
            landscape, end.place, tolerance=_EXACT_WORST, tries=_TRIES, seed=rough.number
        )
        end = replace(end, place=settled, visits=end.visits + tries)
    return Attempt(number=rough.number, start=rough.start, descent=end, is_exact=True)
