"""Descent on landscapes whose answers are known by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.tune.descent import descend
from modewright.tune.step import Slopes, State, best_step

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

CENTS = 1200 / np.log(2)


@dataclass(frozen=True, kw_only=True)
class Spot:
    position: NDArray[np.float64]
    state: State


@dataclass(frozen=True, kw_only=True)
class Formula:
    """Misses and rooms by formula; slopes by central differences, which are exact enough here."""

    misses: Callable[[NDArray[np.float64]], list[float]]
    rooms: Callable[[NDArray[np.float64]], list[float]]
    is_body: Callable[[NDArray[np.float64]], bool] = lambda _: True

    def visit(self, position: NDArray[np.float64], near: Spot | None = None) -> Spot | None:
        del near
        if not self.is_body(position):
            return None
        state = State(misses=np.array(self.misses(position)), rooms=np.array(self.rooms(position)))
        return Spot(position=position, state=state)

    def slopes(self, place: Spot) -> Slopes:
        rows = [
            (self._both(place.position + h) - self._both(place.position - h)) / 2e-6
            for h in 1e-6 * np.eye(len(place.position))
        ]
        both = np.array(rows).T
        wants = len(place.state.misses)
        return Slopes(misses=both[:wants], rooms=both[wants:])

    def _both(self, position: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array([*self.misses(position), *self.rooms(position)])


def beam(position: NDArray[np.float64]) -> tuple[float, float]:
    """Length 20 to 60 mm and thickness 0.4 to 1.6 mm of a plain cantilever."""
    return 0.02 + 0.04 * position[0], 4e-4 + 1.2e-3 * position[1]


def first_hz(length_m: float, thickness_m: float) -> float:
    """Euler-Bernoulli cantilever, 1.875104² / 2π √(E/12ρ) h / L²; steel."""
    return 1.875104**2 / (2 * np.pi) * np.sqrt(200e9 / 12 / 7850) * thickness_m / length_m**2


def mass_kg(length_m: float, thickness_m: float) -> float:
    return 7850 * length_m * thickness_m * 0.01


@given(st.floats(0.05, 0.95), st.floats(0.05, 0.95), st.floats(0.1, 0.9), st.floats(0.1, 0.9))
def test_a_beam_of_wanted_pitch_and_mass_is_found_from_anywhere(a, b, c, d):
    wanted_hz, wanted_kg = first_hz(*beam(np.array([a, b]))), mass_kg(*beam(np.array([a, b])))

    def misses(position):
        return [
            CENTS * np.log(first_hz(*beam(position)) / wanted_hz),
            CENTS * np.log(mass_kg(*beam(position)) / wanted_kg),
        ]

    landscape = Formula(misses=misses, rooms=lambda _: [])
    found = descend(landscape, landscape.visit(np.array([c, d])), tolerance=0.01)
    assert found.is_met
    assert found.place.position == pytest.approx([a, b], abs=1e-4)
    assert found.visits < 15


def test_a_limit_that_binds_is_kept_and_the_rest_solved_by_the_other_dimension():
    # x + y = 1 wanted, x at least 0.7: the shortest way from (0.1, 0.1) ends at (0.7, 0.3).
    landscape = Formula(
        misses=lambda p: [100 * (p[0] + p[1] - 1)], rooms=lambda p: [100 * (p[0] - 0.7)]
    )
    found = descend(landscape, landscape.visit(np.array([0.1, 0.1])), tolerance=0.01)
    assert found.is_met
    assert found.place.position == pytest.approx([0.7, 0.3], abs=2e-3)


def test_what_cannot_be_met_ends_at_the_least_squares_compromise():
    # p = 0.2 and p = 0.6 both wanted: the sum of squares is least half way between.
    landscape = Formula(
        misses=lambda p: [100 * (p[0] - 0.2), 100 * (p[0] - 0.6)], rooms=lambda _: []
    )
    found = descend(landscape, landscape.visit(np.array([0.9])), tolerance=0.01)
    assert not found.is_met
    assert found.place.position == pytest.approx([0.4], abs=1e-3)
    assert found.place.state.worst == pytest.approx(20, abs=0.1)


def test_an_answer_outside_the_range_ends_on_its_bound():
    landscape = Formula(misses=lambda p: [100 * (p[0] - 1.3)], rooms=lambda _: [])
    found = descend(landscape, landscape.visit(np.array([0.5])), tolerance=0.01)
    assert not found.is_met
    assert found.place.position == pytest.approx([1.0])


def test_places_without_a_body_are_walked_around():
    landscape = Formula(
        misses=lambda p: [CENTS * np.log((0.1 + p[0] ** 2) / 0.2)],
        rooms=lambda _: [],
        is_body=lambda p: p[0] < 0.36,
    )
    found = descend(landscape, landscape.visit(np.array([0.05])), tolerance=0.01)
    assert found.is_met
    assert found.place.position == pytest.approx([np.sqrt(0.1)], abs=1e-4)


def test_of_many_answers_the_nearest_is_taken():
    step = best_step(
        State(misses=np.array([-100.0]), rooms=np.array([])),
        Slopes(misses=np.array([[100.0, 100.0]]), rooms=np.zeros((0, 2))),
        np.full(2, -1.0),
        np.full(2, 1.0),
    )
    assert step.change == pytest.approx([0.5, 0.5], abs=1e-4)


def test_rooms_of_another_number_of_dimensions_are_refused():
    with pytest.raises(ValueError, match="rooms: expected shape"):
        Slopes(misses=np.zeros((1, 2)), rooms=np.zeros((1, 3)))
