"""The search on made-up ground: several answers, none, and ground that jumps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from modewright.tune.descent import settle
from modewright.tune.search import are_alike, search, spread_starts
from modewright.tune.step import Slopes, State

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray


@dataclass(frozen=True, kw_only=True)
class Spot:
    position: NDArray[np.float64]
    state: State


@dataclass(frozen=True, kw_only=True)
class Curve:
    """One dimension and one miss by formula, with its slope."""

    miss: Callable[[float], float]
    slope: Callable[[float], float]

    def visit(self, position, near=None):
        del near
        state = State(misses=np.array([self.miss(position[0])]), rooms=np.array([]))
        return Spot(position=position, state=state)

    def slopes(self, place):
        return Slopes(misses=np.array([[self.slope(place.position[0])]]), rooms=np.zeros((0, 1)))


@dataclass(frozen=True, kw_only=True)
class Ground:
    rough: Curve
    fine: Curve

    def start(self, position):
        return self.rough.visit(position)

    def exact(self, end):
        return self.fine, self.fine.visit(end.place.position)


def parabola(offset: float) -> Curve:
    """Zero where (p - 1/2)² = 0.09, moved by an offset in cents."""
    return Curve(
        miss=lambda p: 1000 * ((p - 0.5) ** 2 - 0.09) + offset,
        slope=lambda p: 2000 * (p - 0.5),
    )


def test_two_answers_of_a_parabola_are_both_found_and_each_once():
    ground = Ground(rough=parabola(6.0), fine=parabola(0.0))
    starts = [np.array([0.7]), *spread_starts(8, 1, seed=3)]
    attempts = list(search(ground, starts, wanted=3))
    found = sorted(float(a.descent.place.position[0]) for a in attempts if a.is_answer)
    assert found == pytest.approx([0.2, 0.8], abs=1e-3)
    assert all(a.is_exact for a in attempts if a.is_answer)
    assert any(a.is_known for a in attempts)
    assert len(attempts) < len(starts)


def test_two_rough_ends_that_lead_to_one_exact_answer_are_one():
    line = Curve(miss=lambda p: 1000 * (p - 0.5), slope=lambda _: 1000.0)
    ground = Ground(rough=parabola(0.0), fine=line)
    attempts = list(search(ground, [np.array([0.7]), np.array([0.3])], wanted=2))
    assert all(a.is_exact for a in attempts)
    assert [a.is_answer for a in attempts] == [True, False]
    assert attempts[1].is_known


def test_the_search_stops_when_there_are_answers_enough():
    ground = Ground(rough=parabola(0.0), fine=parabola(0.0))
    starts = [np.array([0.7]), *spread_starts(8, 1, seed=3)]
    assert len(list(search(ground, starts, wanted=1))) == 1


def test_without_an_answer_the_best_start_is_made_exact_at_the_end():
    above = Curve(miss=lambda p: 1000 * (p - 0.5) ** 2 + 50, slope=lambda p: 2000 * (p - 0.5))
    starts = [np.array([0.9]), *spread_starts(8, 1, seed=3)]
    *rough, last = search(Ground(rough=above, fine=above), starts, wanted=3)
    assert not any(a.is_answer for a in [*rough, last])
    assert last.is_exact
    assert last.descent.place.position[0] == pytest.approx(0.5, abs=0.05)
    assert last.descent.place.state.worst == pytest.approx(50, abs=3)


@pytest.mark.parametrize("seed", range(8))
def test_an_answer_is_met_between_jumps_larger_than_the_tolerance(seed):
    # Bodies are "meshed anew" every 0.37 of a cent, by which the miss jumps by up to 2 either way.
    rng = np.random.default_rng(seed)
    jumps = rng.uniform(-2, 2, 5000)

    def miss(p):
        smooth = 500 * (p - 0.4)
        return smooth + jumps[int(smooth / 0.37) % len(jumps)]

    ground = Curve(miss=miss, slope=lambda _: 500.0)
    best, tries = settle(ground, ground.visit(np.array([0.41])), tolerance=0.95, tries=14, seed=0)
    assert best.state.worst <= 1.0
    assert tries <= 14


def test_starts_are_repeated_by_their_seed_and_only_added_to():
    few, many = spread_starts(5, 3, seed=7), spread_starts(8, 3, seed=7)
    assert np.array_equal(few, many[:5])
    assert not np.array_equal(few, spread_starts(5, 3, seed=8))
    assert np.all((many >= 0) & (many <= 1))
    assert spread_starts(0, 3, seed=7).shape == (0, 3)


def test_alike_means_near_in_every_dimension():
    assert are_alike(np.array([0.1, 0.1]), np.array([0.14, 0.08]))
    assert not are_alike(np.array([0.1, 0.1]), np.array([0.1, 0.2]))


def plains(misses):
    """Level ground of one miss round each start: descents end where they begin."""
    starts = [np.array([(number + 0.5) / len(misses)]) for number in range(len(misses))]
    level = Curve(
        miss=lambda p: misses[min(int(p * len(misses)), len(misses) - 1)], slope=lambda _: 0.0
    )
    return Ground(rough=level, fine=level), starts


@pytest.mark.parametrize(
    ("misses", "tried"),
    [
        # The sum of squares of three within a hundredth of the least: it gets no better.
        ([50.0, 50.2, 50.1, 9.0, 9.0], 3),
        ([90.0, 50.0, 50.2, 70.0, 50.1, 9.0], 5),
        # Of four within a tenth.
        ([50.0, 52.0, 51.0, 51.5, 9.0, 9.0], 4),
        # Ends that lower and lower ones follow tell nothing: all starts are tried.
        ([90.0, 80.0, 70.0, 60.0, 50.0, 40.0], 6),
    ],
)
def test_what_cannot_be_reached_is_told_after_ends_that_are_alike(misses, tried):
    ground, starts = plains(misses)
    *rough, last = search(ground, starts, wanted=2)
    assert [attempt.number for attempt in rough] == list(range(tried))
    assert not any(attempt.is_exact for attempt in rough)
    assert last.is_exact
    assert not last.is_answer
    assert last.descent.place.state.worst == min(misses[:tried])


@pytest.mark.parametrize(("floor", "is_walked_on"), [(50.0, True), (500.0, False)])
def test_an_end_far_from_any_answer_is_only_looked_at_on_the_exact_ground(floor, is_walked_on):
    def valley(middle):
        return Curve(
            miss=lambda p: 1000 * (p - middle) ** 2 + floor, slope=lambda p: 2000 * (p - middle)
        )

    *_, last = search(Ground(rough=valley(0.5), fine=valley(0.8)), [np.array([0.9])], wanted=1)
    assert last.is_exact
    wanted = 0.8 if is_walked_on else 0.5
    assert last.descent.place.position[0] == pytest.approx(wanted, abs=0.07)
