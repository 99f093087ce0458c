"""The names of one decay agree with each other."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.decay import (
    damping_ratio_from_loss_factor,
    damping_ratio_from_q,
    damping_ratio_from_t60,
    decay_rate_per_s,
    loss_factor_from_damping_ratio,
    q_from_damping_ratio,
    t60_s_from_damping_ratio,
    t60_s_from_q,
)

zetas = st.floats(1e-7, 0.5)
freqs = st.floats(1.0, 20e3)


@given(zetas, freqs)
def test_round_trips(zeta, freq_hz):
    assert damping_ratio_from_q(q_from_damping_ratio(zeta)) == pytest.approx(zeta, rel=1e-12)
    eta = loss_factor_from_damping_ratio(zeta)
    assert damping_ratio_from_loss_factor(eta) == pytest.approx(zeta, rel=1e-12)
    assert 1 / q_from_damping_ratio(zeta) == pytest.approx(eta, rel=1e-12)
    t60_s = t60_s_from_damping_ratio(zeta, freq_hz)
    assert damping_ratio_from_t60(t60_s, freq_hz) == pytest.approx(zeta, rel=1e-12)
    assert t60_s_from_q(q_from_damping_ratio(zeta), freq_hz) == pytest.approx(t60_s, rel=1e-12)


@given(zetas, freqs)
def test_t60_is_sixty_decibels(zeta, freq_hz):
    t60_s = float(t60_s_from_damping_ratio(zeta, freq_hz))
    amplitude = math.exp(-float(decay_rate_per_s(zeta, freq_hz)) * t60_s)
    assert 20 * math.log10(amplitude) == pytest.approx(-60.0, abs=1e-9)


def test_arrays_mode_by_mode():
    q = q_from_damping_ratio(np.array([0.5, 0.05]))
    np.testing.assert_allclose(q, [1.0, 10.0])


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_refuses_what_does_not_decay(wrong):
    with pytest.raises(ValueError, match="damping_ratio: expected"):
        q_from_damping_ratio(wrong)
