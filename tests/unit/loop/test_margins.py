import control
import numpy as np
import pytest

from modewright.loop.margins import margins_from_response


@pytest.mark.parametrize("seed", range(6))
def test_agrees_with_the_control_library(seed):
    draw = np.random.default_rng(seed)
    poles = -draw.uniform(0.1, 3, 4)
    loop = control.zpk([], poles, draw.uniform(20, 60) * np.prod(-poles) / 10)
    gain, phase, distance, *_ = control.stability_margins(loop)
    omega = np.geomspace(1e-3, 1e3, 40001)
    found = margins_from_response(omega / (2 * np.pi), np.squeeze(loop(1j * omega)))
    if gain > 1:
        assert found.gain_db == pytest.approx(20 * np.log10(gain), abs=1e-3)
    else:
        assert found.gain_reduction_db == pytest.approx(-20 * np.log10(gain), abs=1e-3)
    assert found.phase_deg == pytest.approx(abs(phase), abs=1e-2)
    assert found.distance == pytest.approx(distance, rel=1e-3)


def test_a_loop_that_never_reaches_one_has_no_phase_margin():
    freq_hz = np.geomspace(1, 1000, 2000)
    margins = margins_from_response(freq_hz, 0.3 / (1 + 1j * freq_hz / 50))
    assert margins.phase_deg == np.inf
    assert margins.delay_s == np.inf


def sampled(gain, pole, rate_hz=1000.0):
    """L = gain/(z - pole) on a grid from 0 to half the rate."""
    freq_hz = np.linspace(0, rate_hz / 2, 2001)
    return freq_hz, gain / (np.exp(2j * np.pi * freq_hz / rate_hz) - pole), rate_hz


@pytest.mark.parametrize(
    ("gain", "pole", "margin", "at_hz"),
    [
        # The closed loop's pole is pole - gain: it leaves the circle at -1 or at +1.
        (0.5, 0.8, 1.8 / 0.5, 500.0),
        (0.9, -0.3, 0.7 / 0.9, 500.0),
        (-0.1, 0.8, 0.2 / 0.1, 0.0),
        (-0.5, -0.6, 1.6 / 0.5, 0.0),
    ],
)
def test_crossings_at_both_ends_of_a_sampled_loop(gain, pole, margin, at_hz):
    freq_hz, response, rate_hz = sampled(gain, pole)
    found = margins_from_response(freq_hz, response, rate_hz=rate_hz)
    if margin > 1:
        assert found.gain_db == pytest.approx(20 * np.log10(margin), abs=1e-9)
        assert found.gain_freq_hz == at_hz
    else:
        assert found.gain_reduction_db == pytest.approx(-20 * np.log10(margin), abs=1e-9)
    assert found.distance <= abs(1 - 1 / margin) + 1e-12


def test_a_sampled_loop_whose_grid_stops_short_has_no_crossing_there():
    freq_hz, response, rate_hz = sampled(0.5, 0.8)
    found = margins_from_response(freq_hz[1:-1], response[1:-1], rate_hz=rate_hz)
    assert found.gain_db == np.inf
