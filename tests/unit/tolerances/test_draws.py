"""Draws: moments and shares against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modewright.tolerances.draws import DISTRIBUTIONS, draw_shares


@pytest.mark.parametrize(
    ("distribution", "variance"), [("uniform", 1 / 3), ("triangular", 1 / 6), ("normal", 1 / 4)]
)
@pytest.mark.parametrize("share", [0.0, 0.5])
def test_variance_is_that_of_the_distribution(
    distribution: str, variance: float, share: float
) -> None:
    drawn = draw_shares([distribution], [share], pieces=8_000, batch_size=2, seed=3)
    assert drawn.mean() == pytest.approx(0, abs=0.04)
    assert drawn.var() == pytest.approx(variance, rel=0.06)


def test_pieces_of_a_batch_are_alike_as_far_as_they_share() -> None:
    drawn = draw_shares(["normal"] * 3, [0.0, 0.6, 1.0], pieces=8_000, batch_size=2, seed=4)
    first, second = drawn[::2], drawn[1::2]
    found = [np.corrcoef(first[:, i], second[:, i])[0, 1] for i in range(3)]
    assert found == pytest.approx([0.0, 0.6, 1.0], abs=0.04)


@given(st.integers(1, 60), st.integers(2, 20), st.integers(0, 1000))
@settings(max_examples=30, deadline=None)
def test_more_pieces_leave_the_first_as_they_are(pieces: int, batch: int, seed: int) -> None:
    few = draw_shares(DISTRIBUTIONS, [0.2] * 3, pieces=pieces, batch_size=batch, seed=seed)
    many = draw_shares(DISTRIBUTIONS, [0.2] * 3, pieces=90, batch_size=batch, seed=seed)
    assert np.array_equal(few, many[:pieces])
    assert np.abs(few[:, :2]).max() <= 1


@pytest.mark.parametrize("seed", range(5))
def test_few_batches_already_spread_as_they_should(seed: int) -> None:
    # A hundred batches drawn freely would be off by 7 % at one standard deviation.
    drawn = draw_shares(["normal"] * 4, [1.0] * 4, pieces=2000, batch_size=20, seed=seed)
    assert drawn.std(axis=0) == pytest.approx(0.5, rel=0.06)
    uniform = draw_shares(["uniform"] * 4, [1.0] * 4, pieces=2000, batch_size=20, seed=seed)
    assert uniform.std(axis=0) == pytest.approx(3**-0.5, rel=0.04)
