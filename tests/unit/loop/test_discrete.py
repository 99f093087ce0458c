import numpy as np
import pytest
from scipy import signal

from modewright.loop.discrete import (
    held_input_gain,
    mode_pole_rad_s,
    sections_from_stages,
    split_by_speed,
)
from modewright.transducers.stage import Stage


def test_held_mode_equals_scipy_zero_order_hold():
    omega, zeta, rate = 2 * np.pi * 440.0, 1e-3, 48e3
    pole = mode_pole_rad_s(np.array([omega]), np.array([zeta]))
    rotation, gain = np.exp(pole / rate)[0], held_input_gain(pole, rate)[0]
    matrices = (
        np.array([[0, 1], [-(omega**2), -2 * zeta * omega]]),
        np.array([[0.0], [1]]),
        np.array([[1.0, 0]]),
        np.zeros((1, 1)),
    )
    a, b, c, _, _ = signal.cont2discrete(matrices, 1 / rate, "zoh")
    state, expected = np.zeros((2, 1)), []
    motion, found = 0j, []
    for step in range(300):
        push = 1.0 if step < 7 else 0.0
        state = a @ state + b * push
        motion = rotation * motion + gain * push
        expected.append(float((c @ state)[0, 0]))
        found.append(motion.real)
    np.testing.assert_allclose(found, expected, rtol=1e-9, atol=1e-18)


def test_slow_stage_as_sections_equals_the_stage_at_low_frequency():
    stage = Stage(
        name="corner", zeros_rad_s=np.array([0j]), poles_rad_s=np.array([-2 * np.pi * 16 + 0j])
    )
    sections = sections_from_stages((stage,), 48e3)
    freq_hz = np.array([5.0, 16.0, 100.0, 1000.0])
    z = np.exp(2j * np.pi * freq_hz / 48e3)
    np.testing.assert_allclose(sections.at(z), stage.response(freq_hz), rtol=2e-3)


def test_stages_are_split_by_their_poles():
    slow = Stage(name="a", zeros_rad_s=np.zeros(0), poles_rad_s=np.array([-100 + 0j]))
    fast = Stage(name="b", zeros_rad_s=np.zeros(0), poles_rad_s=np.array([-1e5 + 0j]))
    delay = Stage.constant("c", delay_s=1e-3)
    assert split_by_speed((slow, fast, delay), 48e3) == ((fast, delay), (slow,))


def test_slow_stage_gives_its_delay_to_the_fast_ones():
    late = Stage(name="late", zeros_rad_s=[], poles_rad_s=[-10 + 0j], gain=10.0, delay_s=1e-3)
    (delay,), (slow,) = split_by_speed((late,), 48e3)
    assert (slow.delay_s, delay.delay_s) == (0, 1e-3)
    s = 2j * np.pi * np.array([3.0, 700.0])
    np.testing.assert_allclose(slow.at(s) * delay.at(s), late.at(s), rtol=1e-12)
    assert len(sections_from_stages((slow,), 48e3).sos) == 1


def test_sections_take_no_stage_with_delay():
    stage = Stage(
        name="late", zeros_rad_s=np.zeros(0), poles_rad_s=np.array([-10 + 0j]), delay_s=1e-3
    )
    with pytest.raises(ValueError, match="late: a slow stage cannot carry a delay"):
        sections_from_stages((stage,), 48e3)
