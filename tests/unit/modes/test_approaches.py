"""Crossings and veerings of two coupled oscillators, whose least gap is known."""

import numpy as np
import pytest

from modewright.modes.approaches import find_approaches


def two_oscillators(values, coupling):
    """Followed modes of [[1 + p, κ], [κ, 1 - p]] · (2π · 100 Hz)², along their branches."""
    freq, traces = [], []
    for p in values:
        omega2, shapes = np.linalg.eigh([[1 + p, coupling], [coupling, 1 - p]])
        if coupling == 0:
            order = np.argmax(np.abs(shapes), axis=0)
            omega2, shapes = omega2[np.argsort(order)], np.eye(2)
        freq.append(100 * np.sqrt(omega2))
        traces.append(shapes)
    return np.array(freq), np.array(traces)


@pytest.mark.parametrize("way", [1, -1])
def test_coupled_modes_veer_by_their_coupling(way):
    values = way * np.linspace(-0.2, 0.3, 101)
    found = find_approaches(values, *two_oscillators(values, 0.01))
    assert [(one.kind, one.modes) for one in found] == [("veering", (0, 1))]
    # λ = 1 ± κ at the closest: cents by the quotient of the roots.
    assert found[0].gap_cents == pytest.approx(600 * np.log2(1.01 / 0.99), rel=1e-6)
    assert found[0].value == pytest.approx(0.0, abs=1e-9)
    assert found[0].freq_hz == pytest.approx(100.0, rel=1e-3)
    assert found[0].exchange > 0.7


def test_uncoupled_modes_cross():
    values = np.linspace(-0.2, 0.301, 101)
    found = find_approaches(values, *two_oscillators(values, 0.0))
    assert [one.kind for one in found] == ["crossing"]
    assert found[0].value == pytest.approx(0.0, abs=1e-5)
    assert found[0].freq_hz == pytest.approx(100.0, rel=1e-5)


def test_modes_that_come_near_without_touching_are_none():
    """Two curves that bend towards each other and keep their shapes."""
    values = np.linspace(-1, 1, 21)
    freq = np.stack([100 - values**2, 105 + values**2], axis=1)
    assert find_approaches(values, freq, np.array([np.eye(2)] * 21)) == ()


def test_a_third_mode_before_does_not_hide_a_veering():
    """A falling oscillator meets one still one just behind the first value, and then another."""
    values = np.linspace(0.0, 1.0, 101)
    freq, traces = [], []
    for p in values:
        falling = 1.32 - 0.4 * p
        omega2, shapes = np.linalg.eigh([[1.0, 0.0, 0.02], [0.0, 1.3, 0.02], [0.02, 0.02, falling]])
        freq.append(100 * np.sqrt(omega2))
        traces.append(shapes)
    found = find_approaches(values, np.array(freq), np.array(traces))
    # The falling one stands at 1 where p is 0.8; the least gap of the roots there is 2 · 0.02.
    (late,) = [one for one in found if one.modes == (0, 1)]
    assert late.value == pytest.approx(0.8, abs=0.03)
    assert late.gap_cents == pytest.approx(600 * np.log2(1.02 / 0.98), rel=0.05)
    assert late.exchange > 0.5
