"""Blows and noises, sample by sample; wanted values follow from the fields of the score."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.sound.inputs import InputSignals, strike_pulse
from modewright.sound.score import Noise, Score, Strike
from modewright.sound.settings import StrikeSettings

RATE_HZ = 48000.0
STRIKE = StrikeSettings(force_n=0.5, width_s=2e-3)


def signals(noise_seed=None, **score):
    return InputSignals(
        Score(**score), STRIKE, RATE_HZ, command_limit=0.2, noise_v=1e-3, noise_seed=noise_seed
    )


@given(
    force_n=st.floats(1e-3, 200),
    width_s=st.floats(1e-6, 0.05),
    rate_hz=st.floats(8e3, 200e3),
)
def test_impulse_of_a_strike(force_n, width_s, rate_hz):
    pulse = strike_pulse(force_n, width_s, rate_hz)
    assert pulse.sum() / rate_hz == pytest.approx(force_n * width_s / 2, rel=1e-9)
    assert pulse.min() >= -1e-12 * force_n
    assert pulse.max() <= force_n * (1 + 1e-12)
    assert len(pulse) == max(1, math.ceil(width_s * rate_hz))


def test_pulse_is_a_raised_cosine():
    pulse = strike_pulse(3.0, 0.01, 100e3)
    middle_s = (np.arange(1000) + 0.5) / 100e3
    np.testing.assert_allclose(pulse, 1.5 * (1 - np.cos(2 * np.pi * middle_s / 0.01)), atol=1e-5)


def test_strikes_add_up_and_are_cut_off_at_the_end():
    strikes = (
        Strike(at_s=0.01),
        Strike(at_s=0.01, strength=0.5),
        Strike(at_s=0.05, width_s=4e-3),
        Strike(at_s=0.099),
        Strike(at_s=7.0),
    )
    force = signals(length_s=0.1, strikes=strikes).take(4800).force_n
    impulse = [part.sum() / RATE_HZ for part in np.split(force, [1920, 3840])]
    # The pulse is symmetrical: half of it fits before the end.
    wanted = [1.5 * 0.5 * 1e-3, 0.5 * 2e-3, 0.5 * 0.5e-3]
    assert impulse == pytest.approx(wanted, rel=1e-9)
    assert np.abs(force[:480]).max() == 0


def test_noise_is_seeded_and_has_its_level():
    def drive(**noise):
        return signals(length_s=2.0, noises=(Noise(**noise),)).take(96000).drive

    first = drive(at_s=0.5, until_s=1.5, level=0.1, seed=3)
    np.testing.assert_array_equal(first, drive(at_s=0.5, until_s=1.5, level=0.1, seed=3))
    assert np.abs(first[:24000]).max() == np.abs(first[72000:]).max() == 0
    part = first[24000:72000]
    # Five standard errors of 48 000 independent numbers.
    assert part.std() == pytest.approx(0.1 * 0.2, rel=5 / math.sqrt(2 * 48000))
    other = drive(at_s=0.5, until_s=1.5, level=0.1, seed=4)[24000:72000]
    assert abs(np.corrcoef(part, other)[0, 1]) < 5 / math.sqrt(48000)


@given(cuts=st.lists(st.integers(1, 4799), max_size=6, unique=True))
def test_pieces_are_the_whole_however_it_is_cut(cuts):
    score = {
        "length_s": 0.1,
        "strikes": (Strike(at_s=0.03, width_s=0.02), Strike(at_s=0.0), Strike(at_s=0.0999)),
        "noises": (
            Noise(at_s=0.01, until_s=0.05, level=0.1),
            Noise(at_s=0.04, until_s=9.0, level=0.2, seed=2),
        ),
    }
    whole, parts = signals(noise_seed=1, **score).take(4800), signals(noise_seed=1, **score)
    edges = [0, *sorted(cuts), 4800]
    pieces = [parts.take(last - first) for first, last in itertools.pairwise(edges)]
    for name in ("force_n", "drive", "noise_v"):
        joined = np.concatenate([getattr(piece, name) for piece in pieces])
        np.testing.assert_array_equal(joined, getattr(whole, name))
    assert whole.force_n.any()
    assert whole.drive.any()
    assert whole.noise_v.std() == pytest.approx(1e-3, rel=0.05)
