"""Filters, delays and the hold against textbook responses."""

import numpy as np
import pytest

from modewright.transducers.electronics import CurrentAmplifier, Electronics, Hold
from modewright.transducers.stage import path_response


def test_anti_alias_is_a_butterworth_filter():
    electronics = Electronics(anti_alias_order=3, anti_alias_corner_hz=18e3)
    freq_hz = np.array([100.0, 18e3, 40e3])
    gain = np.abs(electronics.input_stages[0].response(freq_hz))
    assert gain == pytest.approx(1 / np.sqrt(1 + (freq_hz / 18e3) ** 6), rel=1e-9)


def test_total_delay_is_filled_up():
    electronics = Electronics(total_delay_s=1e-3)
    stages = (*electronics.input_stages, *electronics.output_stages)
    assert sum(stage.delay_s for stage in stages) == pytest.approx(1e-3, rel=1e-12)
    assert electronics.delay_s == 1e-3
    assert not list(electronics.problems())


def test_delay_without_a_total_is_the_sum_of_the_latencies():
    electronics = Electronics(input_latency_s=2e-4, output_latency_s=1e-4, computing_samples=2)
    assert electronics.delay_s == pytest.approx(3e-4 + 2 / 48e3)


def test_total_delay_below_the_latencies_is_reported():
    (fault,) = Electronics(total_delay_s=1e-4).problems()
    assert fault.key == "total_delay"
    assert "0.2208 ms" in fault.expected


def test_amplifier_is_among_the_output_stages():
    electronics = Electronics(amplifier=CurrentAmplifier(bandwidth_hz=5e4))
    gain = np.abs(path_response(electronics.output_stages, np.array([5e4])))
    assert gain == pytest.approx([1 / np.sqrt(2)])
    assert electronics.amplifier.limit == 0.1


def test_hold_is_a_sinc_and_half_a_sample():
    freq_hz = np.array([0.0, 1000.0, 12e3, 48e3])
    turn = freq_hz / 48e3
    expected = np.sinc(turn) * np.exp(-1j * np.pi * turn)
    assert Hold(rate_hz=48e3).response(freq_hz) == pytest.approx(expected, abs=1e-14)
