"""Parabolas, trimming and shares of good pieces."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from modewright.tolerances.response import Response, trimmed, wilson_interval
from modewright.tolerances.settings import MarginLimit, PitchLimit, RatioLimit
from modewright.tolerances.verdict import yield_of


def test_trimming_takes_the_pitch_home_and_leaves_the_ratio() -> None:
    changes = np.array([[30.0, 31.0], [-50.0, -48.0]])
    trim = Response(slope=np.array([[-2.0, -1.0]]), curve=np.array([[0.01, 0.0]]))
    left, moved = trimmed(changes, trim)
    assert left[:, 0] == pytest.approx([0, 0], abs=1e-9)
    assert left[:, 1] == pytest.approx(changes[:, 1] - moved)
    assert moved == pytest.approx((2 - np.sqrt(4 - 0.04 * changes[:, 0])) / 0.02)


def test_interval_of_a_share_is_that_of_an_independent_library() -> None:
    expected = binomtest(37, 50).proportion_ci(method="wilson")
    assert wilson_interval(37 / 50, 50, 1.959964) == pytest.approx((expected.low, expected.high))


def test_limits_are_judged_one_by_one_and_together() -> None:
    changes = np.zeros((4, 2 * 2 + 3))
    changes[:, 0], changes[:, 1] = [0, 4, 6, 4], [0, 4, 0, -4]
    changes[3, 4] = -5.0
    limits = (
        PitchLimit(within_cents=5.0),
        RatioLimit(mode=2, within_cents=5.0),
        MarginLimit(least_gain_db=6.0, least_phase_deg=30.0),
    )
    found = yield_of(limits, changes, np.array([10.0, 40.0, 1.0]), 2)
    assert found.by_limit == (0.75, 0.5, 0.75)
    assert found.share == 0.5


def test_pieces_of_a_batch_that_are_all_alike_count_as_one() -> None:
    # Half of 40 batches are good throughout: as uncertain as 40 independent pieces.
    changes = np.zeros((400, 2 + 3))
    changes[:, 0] = np.repeat(np.arange(40) % 2, 10) * 9.0
    found = yield_of((PitchLimit(within_cents=5.0),), changes, np.zeros(3), 1, batch_size=10)
    assert found.interval == pytest.approx(wilson_interval(0.5, 40), abs=0.003)


def test_pieces_that_have_nothing_in_common_all_count() -> None:
    changes = np.zeros((400, 2 + 3))
    changes[:, 0] = np.random.default_rng(1).permutation(400) % 2 * 9.0
    found = yield_of((PitchLimit(within_cents=5.0),), changes, np.zeros(3), 1, batch_size=4)
    assert found.interval == pytest.approx(wilson_interval(0.5, 400), abs=0.012)


def test_trimming_that_misses_leaves_what_it_misses() -> None:
    trim = Response(slope=np.array([[-2.0, -1.0]]), curve=np.array([[0.01, 0.0]]))
    left, _ = trimmed(np.array([[30.0, 31.0], [-50.0, -48.0]]), trim, np.array([0.5, -1.0]))
    assert left[:, 0] == pytest.approx([0.5, -1.0], abs=1e-9)


def test_a_piece_that_nothing_brings_to_pitch_cannot_be_trimmed() -> None:
    # 2 m + 0.01 m² has its least at -100, m = -100: 101 cents too high has no root, 99 one at -90.
    trim = Response(slope=np.array([[2.0, 1.0]]), curve=np.array([[0.01, 0.0]]))
    changes = np.array([[101.0, 0.0], [99.0, 0.0], [1.0, 0.0]])
    _, moved = trimmed(changes, trim)
    assert np.isnan(moved[0])
    assert moved[1] == pytest.approx(-90.0)
    left, near = trimmed(changes, trim, reach=(-89.0, 200.0))
    assert np.isnan(near).tolist() == [True, True, False]
    found = yield_of((PitchLimit(within_cents=5.0),), left, np.zeros(3), 1)
    assert found.share == pytest.approx(1 / 3)


def test_a_number_that_moves_nothing_trims_nothing() -> None:
    trim = Response(slope=np.zeros((1, 1)), curve=np.zeros((1, 1)))
    _, moved = trimmed(np.array([[3.0], [-3.0]]), trim, reach=(-100.0, 100.0))
    assert np.isnan(moved).all()
