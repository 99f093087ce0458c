"""The budget of the example adds up to the phase that its signal path shows."""

import numpy as np
import pytest

from modewright.chain.closed_loop import analyse_latency, signal_path


def test_total_is_the_phase_of_the_path(bench_g3):
    design, hearing = bench_g3.placed.design, bench_g3.hearing
    budget, path = analyse_latency(design, hearing), signal_path(design, hearing)
    ends = {"pickup", "driver", "whole path"}
    gain = np.prod([row.gain for row in path if row.name not in ends], axis=0)
    turn = np.angle(gain * np.exp(-1j * budget.total.phase_rad))
    assert turn == pytest.approx(np.zeros(len(turn)), abs=1e-6)
    assert [row.name for row in budget.rows] == [row.name for row in path if row.name not in ends]


def test_delays_of_pure_stages_are_theirs(bench_g3):
    budget = analyse_latency(bench_g3.placed.design, bench_g3.hearing)
    rows = {row.name: row.delay_s for row in budget.rows}
    assert rows["computing"] == pytest.approx(1 / 48e3)
    assert rows["hold"] == pytest.approx(0.5 / 48e3)
    assert budget.total.delay_s == pytest.approx(sum(rows.values()))
    # A high-pass leads.
    assert (rows["bias corner"] < 0).all()
