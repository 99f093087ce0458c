"""Bodies left alone ring at the pitch and for the time that was asked for."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from modewright.sound.engine import Engine
from modewright.sound.voice_program import VoiceProgram

RATE_HZ = 48_000
MODES = [(196.0, 22.0), (523.3, 9.0), (1187.0, 6.0), (4977.0, 3.0), (9011.0, 2.0), (17_903.0, 0.6)]
# A low mode of a very good spring steel: the hardest case for single precision.
HARD = [(31.0, 60.0), (110.0, 45.0)]


def body(freq_hz, t60_s, **changes):
    freq_hz, t60_s = np.atleast_1d(freq_hz), np.atleast_1d(t60_s)
    sigma = np.log(1000) / t60_s
    values = {
        "rotation": np.exp((2j * np.pi * freq_hz - sigma) / RATE_HZ),
        "drive_gain": np.zeros(len(freq_hz)),
        "force_gain": np.full(len(freq_hz), -1e-6j),
        "pickup_gain": np.full(len(freq_hz), 1e4),
        "full_scale_v": 10.0,
    }
    return VoiceProgram(**(values | changes))


def measure(wave, near_hz, near_s):
    """Frequency and T60 by demodulation: slope of phase and log level of a windowed band.

    Only what is within about 40 dB of the start counts, before slower modes leak in.
    """
    wave = wave[: int(0.7 * near_s * RATE_HZ)]
    window = signal.windows.blackmanharris(8192)
    window /= window.sum()
    starts = np.arange(256, len(wave) - len(window), 512)
    carrier = np.exp(-2j * np.pi * near_hz * np.arange(len(wave)) / RATE_HZ)
    band = np.array([np.dot(window, (wave * carrier)[i : i + len(window)]) for i in starts])
    time = starts / RATE_HZ
    offset = np.polyfit(time, np.unwrap(np.angle(band)), 1)[0] / (2 * np.pi)
    return near_hz + offset, -np.log(1000) / np.polyfit(time, np.log(np.abs(band)), 1)[0]


def strike():
    force = np.zeros(2 * RATE_HZ)
    force[0] = 100.0
    return force


@pytest.mark.parametrize("precision", ["float32", "float64"])
def test_pitch_and_decay_of_single_modes(precision):
    cases = MODES + HARD
    engine = Engine(precision)
    for lane, (freq_hz, t60_s) in enumerate(cases):
        engine.load(lane, body(freq_hz, t60_s))
    heard = engine.run(2 * RATE_HZ, force_n=strike()).output_v.astype(float)
    for lane, (freq_hz, t60_s) in enumerate(cases):
        found_hz, found_s = measure(heard[:, lane], freq_hz * 1.0003, t60_s)
        assert abs(1200 * np.log2(found_hz / freq_hz)) < 0.01, (freq_hz, found_hz)
        assert found_s == pytest.approx(t60_s, rel=2e-3), freq_hz


@pytest.mark.parametrize("precision", ["float32", "float64"])
def test_pitch_and_decay_within_a_sum_of_modes(precision):
    freq_hz, t60_s = np.array(MODES).T
    engine = Engine(precision)
    engine.load(0, body(freq_hz, t60_s))
    heard = engine.run(2 * RATE_HZ, force_n=strike()).output_v[:, 0].astype(float)
    for near_hz, wanted_s in MODES:
        found_hz, found_s = measure(heard, near_hz * 1.0003, wanted_s)
        assert abs(1200 * np.log2(found_hz / near_hz)) < 0.01
        assert found_s == pytest.approx(wanted_s, rel=2e-3)


def test_strike_sets_the_amplitude():
    """One sample of force f gives the state h f, so the first heard peak is c |h| f."""
    engine = Engine("float64")
    engine.load(0, body(500.0, 30.0))
    heard = engine.run(4800, force_n=strike()[:4800]).output_v[:, 0]
    assert np.abs(heard).max() == pytest.approx(1e4 * 1e-6 * 100, rel=1e-3)


def test_lossless_body_keeps_its_energy():
    freq_hz = np.array([29.0, 196.0, 1111.0, 7001.0, 19_001.0])
    engine = Engine("float64")
    engine.load(0, body(freq_hz, np.full(5, np.inf)))
    engine.run(32, force_n=strike()[:32])

    def energy():
        parts = engine.view("body.re")[:5, 0] ** 2 + engine.view("body.im")[:5, 0] ** 2
        return np.asarray(parts, dtype=float).copy()

    before = energy()
    engine.run(RATE_HZ)
    assert np.all(np.abs(energy() / before - 1) < 1e-9)


def test_a_decayed_body_is_at_rest_exactly():
    engine = Engine("float32")
    engine.load(0, body([300.0, 5000.0], [0.05, 0.02]))
    engine.run(RATE_HZ, force_n=strike()[:RATE_HZ])
    assert not engine.view("body.re").any()
    assert not engine.view("body.im").any()
