"""The budget of phase against unwrapped responses and the roots of a delayed loop."""

import numpy as np
import pytest
from scipy.optimize import fsolve

from modewright.transducers.latency import late_push, stage_phase_rad
from modewright.transducers.stage import Stage


def test_phase_is_that_of_the_response_without_its_jumps():
    stage = Stage(
        name="odd",
        zeros_rad_s=np.array([-300.0, 0.0]),
        poles_rad_s=np.array([-900.0, -2000.0 + 9000j, -2000.0 - 9000j]),
        gain=3.0,
        delay_s=1.3e-3,
    )
    freq_hz = np.linspace(1.0, 5e3, 5000)
    unwrapped = np.unwrap(np.angle(stage.response(freq_hz)))
    found = stage_phase_rad(stage, freq_hz)
    assert found - unwrapped == pytest.approx(np.full(5000, found[0] - unwrapped[0]), abs=1e-9)
    assert found[0] == pytest.approx(unwrapped[0], abs=1e-9)


def test_a_late_push_moves_the_root_as_it_says():
    """Characteristic equation of a mode under delayed velocity feedback, solved by scipy."""
    omega, sigma, delay_s = 2 * np.pi * 440.0, 0.5, 4e-4

    def equation(x):
        s = complex(*x)
        value = s**2 + omega**2 + 2 * sigma * s * np.exp(-s * delay_s)
        return [value.real / omega, value.imag / omega]

    root = fsolve(equation, [0.0, omega], xtol=1e-13)
    kept, raised = late_push(np.array([omega * delay_s]), sigma)
    assert -root[0] / sigma == pytest.approx(kept[0], abs=2e-3)
    assert root[1] - omega == pytest.approx(raised[0], abs=2e-3 * sigma)
