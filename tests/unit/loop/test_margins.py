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
