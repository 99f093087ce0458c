"""Tones that the pickup makes of held modes: their size, and what the observer takes them for."""

import dataclasses
import re

import numpy as np
import pytest

from made_up_plant import RATE_HZ, make_plant
from modewright.loop.close import close_loop
from modewright.loop.pickup_products import phantom_level_m
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.engine import Engine
from modewright.sound.program import voice_program

N2, N3 = 0.02, 0.004


def close(*held, treated=(), curved=True, **changes):
    plant = make_plant()
    if curved:
        plant = dataclasses.replace(plant, quadratic_per_v=N2, cubic_per_v2=N3)
    modes = [ModeControl(mode=m, state="held", level_m=level) for m, level in held]
    modes += [ModeControl(mode=m) for m in treated]
    return close_loop(plant, LoopSettings(modes=tuple(modes), **changes))


def told(loop):
    return [text for text in loop.findings if text.startswith("Harmonic on a mode")]


def test_observer_takes_a_tone_for_what_is_said():
    """The core fed with a pure tone of 405 Hz and nothing else: modes 2 at 420 Hz and 1 at 197."""
    loop = close((1, 20e-6), treated=(2, 3), curved=False)
    engine = Engine("float64")
    engine.load(0, voice_program(loop, np.zeros(20, complex)))
    tone_v = 0.5 * np.cos(2 * np.pi * 405.0 * np.arange(2 * int(RATE_HZ)) / RATE_HZ)
    level_m = engine.run(len(tone_v), noise_v=tone_v).level_m[-200:, :, 0].mean(axis=0)
    expected_m = phantom_level_m(loop.plant, loop.observer, 405.0, 0.5)
    # The bank's answer to the tone's mirror image, left out, is what is larger for mode 1.
    assert level_m[1] == pytest.approx(expected_m[1], rel=0.01)
    assert level_m[0] == pytest.approx(expected_m[0], rel=0.3)


def test_finding_says_how_strong_and_what_to_do():
    level_m = 20e-6
    loop = close((1, level_m), treated=(2,), observer_bandwidth_hz=15.0)
    (text,) = [t for t in told(loop) if "twice the pitch" in t]
    volts = level_m * abs(loop.plant.pickup_gain[0])
    ratio_db = 20 * np.log10(N2 * volts / 2)
    assert f"{ratio_db:.0f} dB against the held mode" in text
    assert "Half the held level lowers it by 12 dB" in text
    assert "loop.observer_bandwidth" in text
    taken = phantom_level_m(loop.plant, loop.observer, 2 * 197.0, N2 * volts**2 / 2)[1]
    assert f"takes it for {taken * 1e6:.2g} um of mode 2" in text
    against = re.search(r"\((-?\d+) dB against its level\)", text)
    assert int(against[1]) == round(20 * np.log10(taken / 20e-6))


def test_strong_tone_on_a_treated_mode_is_told_however_far():
    """With 1 Hz of bandwidth 26 Hz are far; a tone of half the held mode still passes a share."""
    weak = close((1, 2e-6), treated=(2,), observer_bandwidth_hz=1.0)
    strong = close((1, 2e-4), treated=(2,), observer_bandwidth_hz=1.0)
    assert not told(weak)
    assert [t for t in told(strong) if "mode 2 (mode at 420)" in t]


def test_sums_and_differences_of_two_held_modes():
    """1228 - 420 = 808 Hz and 1228 + 420 = 1648 Hz; 1500 + 1500 = 3000 Hz is mode 8."""
    far = close((2, 20e-6), (4, 20e-6), observer_bandwidth_hz=12.0)
    assert not [t for t in told(far) if "the sum" in t or "the difference" in t]
    near = close((2, 20e-6), (4, 20e-6), observer_bandwidth_hz=80.0)
    (text,) = [t for t in told(near) if "the difference" in t and "75.0 Hz from mode 3" in t]
    assert "which are to be held" in text
    twice = close((5, 20e-6), treated=(8,))
    assert [t for t in told(twice) if "0.0 Hz from mode 8 (mode at 3000)" in t]
    assert not told(close((5, 20e-6), treated=(8,), curved=False))


def test_a_tone_beside_a_mode_is_told_only_if_it_is_strong_enough():
    """3000 Hz, twice 1500 Hz, is mode 8: -50 dB of its level is told, -70 dB is not."""
    gain = abs(make_plant().pickup_gain[4])

    def findings(share_db):
        probe = close((5, 20e-6), treated=(8,))
        at_tone = phantom_level_m(probe.plant, probe.observer, 3000.0, 1.0)[1]
        tone_v = 10 ** (share_db / 20) * 20e-6 / at_tone
        return told(close((5, float(np.sqrt(2 * tone_v / N2)) / gain), treated=(8,)))

    assert [text for text in findings(-50) if "twice the pitch" in text and "mode 8" in text]
    assert not [text for text in findings(-70) if "twice the pitch" in text and "mode 8" in text]


def test_a_tone_above_half_the_rate_folds_back():
    """Twice 19 kHz is heard at 48 - 38 = 10 kHz, 500 Hz from mode 15 at 10500 Hz."""
    loop = close(
        (20, 400e-6), treated=(15,), modelled_modes=20, observer_bandwidth_hz=60.0,
    )  # fmt: skip
    (text,) = [t for t in told(loop) if "twice the pitch" in t and "from mode 15" in t]
    assert "at 38000 Hz, heard at 10000 Hz, lies 500.0 Hz from mode 15" in text
    # The core does the same: a square of 19 kHz stands at 10 kHz.
    time_s = np.arange(4800) / RATE_HZ
    spectrum = np.abs(np.fft.rfft(np.cos(2 * np.pi * 19e3 * time_s) ** 2))
    assert np.argmax(spectrum[1:]) + 1 == round(10e3 / (RATE_HZ / 4800))
