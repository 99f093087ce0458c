"""Filters and converters against scipy.signal."""

import numpy as np
import pytest
from scipy import signal

from modewright.transducers.converters import converter_delay_s, halving_delay_samples
from modewright.transducers.electronics import Electronics
from modewright.transducers.filters import low_pass_filter
from modewright.transducers.stage import path_response

FREQ_HZ = np.geomspace(100.0, 60e3, 30)


@pytest.mark.parametrize("order", range(1, 9))
@pytest.mark.parametrize("kind", ["Butterworth", "Bessel"])
def test_low_pass(kind, order):
    if kind == "Bessel":
        b, a = signal.bessel(order, 2 * np.pi * 18e3, analog=True, norm="mag")
    else:
        b, a = signal.butter(order, 2 * np.pi * 18e3, analog=True)
    expected = signal.freqs(b, a, 2 * np.pi * FREQ_HZ)[1]
    found = low_pass_filter("f", kind, order, 18e3).response(FREQ_HZ)
    assert found == pytest.approx(expected, rel=1e-6, abs=1e-12)


def test_reconstruction_is_among_the_output_stages():
    plain = Electronics()
    smooth = Electronics(reconstruction="Bessel", reconstruction_order=3)
    ratio = path_response(smooth.output_stages, FREQ_HZ) / path_response(
        plain.output_stages, FREQ_HZ
    )
    b, a = signal.bessel(3, 2 * np.pi * 20e3, analog=True, norm="mag")
    assert ratio == pytest.approx(signal.freqs(b, a, 2 * np.pi * FREQ_HZ)[1], rel=1e-6)


def test_sinc_decimator_is_the_middle_of_its_weights():
    box = np.full(64, 1 / 64)
    weights = np.convolve(np.convolve(box, box), box)
    middle = weights @ np.arange(len(weights)) / 64
    assert converter_delay_s("sinc decimator", 48e3, 9.0) * 48e3 == pytest.approx(middle, rel=0.02)


def windowed(taps, _edge, stopped_db):
    return signal.firwin(taps, 0.5, window=("kaiser", signal.kaiser_beta(stopped_db)))


def equiripple(taps, edge, _stopped_db):
    return signal.remez(taps, [0.0, edge, 0.5 - edge, 0.5], [1.0, 0.0], fs=1.0)


def shortest_delay(make, passed, stopped_db):
    """Samples that three halving filters really need, the shortest ones of odd length."""
    total = 1.5 / 8
    for fast in (2.0, 4.0, 8.0):
        edge, taps, highest_db = passed / fast, 5, 0.0
        stop = np.linspace(0.5 - edge, 0.5, 400) * 2 * np.pi
        while highest_db > -stopped_db:
            taps += 2
            weights = make(taps, edge, stopped_db)
            highest_db = 20 * np.log10(np.abs(signal.freqz(weights, worN=stop)[1]).max())
        total += (taps - 1) / 2 / fast
    return total


@pytest.mark.parametrize(("passed", "stopped_db"), [(0.4535, 100.0), (0.35, 70.0)])
def test_halving_filters_need_that_time(passed, stopped_db):
    """Between the best filters there are (Parks & McClellan) and those of a Kaiser window."""
    found = halving_delay_samples(passed, stopped_db)
    assert shortest_delay(equiripple, passed, stopped_db) < found
    assert found < shortest_delay(windowed, passed, stopped_db)


def test_converters_set_the_delay():
    fast = Electronics(
        input_converter="successive approximation", output_converter="resistor ladder"
    )
    assert fast.delay_s == pytest.approx(2 / 48e3)
    slow = Electronics(input_converter="audio sigma-delta", output_converter="audio sigma-delta")
    # Common practice: audio converters are some 35 to 40 samples late each way.
    assert 70 < (slow.delay_s * 48e3) < 81
    (fault,) = Electronics(input_converter="audio sigma-delta", total_delay_s=5e-4).problems()
    assert fault.key == "total_delay"
