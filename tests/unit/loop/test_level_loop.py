"""The level loop of a held mode against the time-domain core that plays it."""

import dataclasses

import numpy as np
import pytest
from scipy import signal

from made_up_plant import FREQ_HZ, RATE_HZ, make_plant
from modewright.loop.close import close_loop
from modewright.loop.level_loop import level_loop
from modewright.loop.level_margins import disturbed
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.engine import Engine
from modewright.sound.inputs import InputSignals
from modewright.sound.playing import play
from modewright.sound.program import voice_program
from modewright.sound.score import Hold, Score
from modewright.sound.settings import StrikeSettings
from modewright.sound.timeline import build_timeline

BLOCK = 32


def fast_loop(attack_s, bandwidth_hz=12.0, delay_samples=48):
    """One mode of Q 800 held by a level loop far faster than its own decay of 0.77/s."""
    plant = dataclasses.replace(make_plant(), delay_samples=delay_samples)
    modes = (ModeControl(mode=1, state="held", attack_s=attack_s),)
    return close_loop(plant, LoopSettings(observer_bandwidth_hz=bandwidth_hz, modes=modes))


def played(loop, plant, holds, length_s):
    """Voltage and believed level, without the judgement that goes before a performance."""
    score = Score(length_s=length_s, start="damped", holds=holds)
    timeline = build_timeline(score, loop.regulators, RATE_HZ, BLOCK)
    engine = Engine("float64", block=BLOCK, longest_delay=plant.delay_samples)
    silent = np.zeros(plant.mode_count, dtype=complex)
    engine.load(0, voice_program(dataclasses.replace(loop, plant=plant), silent))
    inputs, heard = InputSignals(score, StrikeSettings(), RATE_HZ), []
    found = play(engine, timeline, loop.regulators, inputs, lambda v, _: heard.append(v))
    return np.concatenate(heard), found.level_m[:, 0]


def swing_of(loop):
    around = level_loop(loop.plant, loop.observer, loop.regulators, ("held",), 0)
    return around, around.swing()


@pytest.mark.parametrize("attack_s", [0.05, 0.005, 0.002])
def test_pitch_of_a_held_mode_is_that_of_its_swing(attack_s):
    """A fast level loop leaves the pitch alone, whatever its gain in other modes' poles."""
    loop = fast_loop(attack_s, bandwidth_hz=40.0)
    voltage_v, _ = played(loop, loop.plant, (Hold(mode=1, at_s=0.0, attack_s=0.0),), 3.0)
    free_hz = np.angle(loop.plant.rotation[0]) * RATE_HZ / (2 * np.pi)
    time_s = np.arange(len(voltage_v)) / RATE_HZ
    low = signal.butter(4, 25.0, fs=RATE_HZ, output="sos")
    envelope = signal.sosfiltfilt(low, voltage_v * np.exp(-2j * np.pi * free_hz * time_s))
    use = (time_s > 1.5) & (time_s < 2.8)
    slope_hz = np.polyfit(time_s[use], np.unwrap(np.angle(envelope[use])), 1)[0] / (2 * np.pi)
    pull_cents = 1200 * np.log2(1 + slope_hz / free_hz)
    (held,) = loop.stated.held
    assert held.shift_cents == pytest.approx(pull_cents, abs=0.01)
    assert held.freq_hz == pytest.approx(free_hz + slope_hz, rel=1e-5)
    assert abs(held.shift_cents) < 0.2


@pytest.mark.parametrize("attack_s", [0.1, 0.05, 0.02])
def test_level_deviations_die_at_the_radial_rate(attack_s):
    """Without the integral, whose slow trim is told apart."""
    loop = fast_loop(attack_s, bandwidth_hz=40.0)
    plain = dataclasses.replace(loop.regulators, integral_gain=np.zeros(1))
    higher_m = 1.2 * float(loop.regulators.level_m[0])
    holds = (
        Hold(mode=1, at_s=0.0, attack_s=0.0),
        Hold(mode=1, at_s=2.0, level_m=higher_m, attack_s=0.0),
    )
    _, level = played(dataclasses.replace(loop, regulators=plain), loop.plant, holds, 4.0)
    time_s = (np.arange(len(level)) + 1) * BLOCK / RATE_HZ - 2.0
    use = (time_s > 0.1 * attack_s) & (time_s < 2 * attack_s)
    rate = -np.polyfit(time_s[use], np.log(1 - level[use] / higher_m), 1)[0]
    (held,) = loop.stated.held
    assert held.level_rate_per_s == pytest.approx(rate, rel=0.003)
    assert held.level_rate_per_s == pytest.approx(1 / attack_s, rel=0.01)


def test_the_integral_trims_a_thirtieth_as_fast():
    """Nothing replaces the mode's own loss but the integral."""
    attack_s = 0.02
    loop = fast_loop(attack_s)
    short = dataclasses.replace(loop.regulators, sustain_gain=np.zeros(1))
    hold = (Hold(mode=1, at_s=0.0, attack_s=0.0),)
    _, level = played(dataclasses.replace(loop, regulators=short), loop.plant, hold, 1.5)
    time_s = (np.arange(len(level)) + 1) * BLOCK / RATE_HZ
    use = (time_s > 10 * attack_s) & (time_s < 60 * attack_s)
    off = np.abs(level[use] / float(loop.regulators.level_m[0]) - 1)
    rate = -np.polyfit(time_s[use], np.log(off), 1)[0]
    # The slow root of s² + s/τ + 0.03/τ² = 0.
    assert rate * attack_s == pytest.approx((1 - np.sqrt(1 - 0.12)) / 2, rel=0.01)


def ripple(loop, gain_db):
    """Unsteadiness of the level when every mode is heard so much stronger."""
    around, _ = swing_of(loop)
    plant = disturbed(around, gain_db=gain_db).plant
    _, level = played(loop, plant, (Hold(mode=1, at_s=0.0, attack_s=0.0),), 2.5)
    late = level[len(level) * 4 // 5 :]
    return late.std() / late.mean()


@pytest.mark.parametrize("bandwidth_hz", [40.0, 90.0])
def test_gain_margin_is_where_the_level_begins_to_hunt(bandwidth_hz):
    """4 ms of delay; the linear gain alone, half of the radial one, promises over 1 dB more."""
    loop = fast_loop(0.002, bandwidth_hz=bandwidth_hz, delay_samples=192)
    margin_db = loop.stated.margins.gain_db
    assert loop.is_stable
    assert 6 < margin_db < 12
    assert ripple(loop, margin_db - 0.5) < 1e-3
    assert ripple(loop, margin_db + 0.5) > 1e-2


def test_a_level_that_hunts_is_no_stable_loop():
    loop = fast_loop(0.002, bandwidth_hz=90.0, delay_samples=192)
    over = 10 ** ((loop.stated.margins.gain_db + 1) / 20)
    around, _ = swing_of(loop)
    louder = disturbed(around, gain_db=20 * np.log10(over))
    assert louder.hunts(louder.swing(), loop.freq_hz)
    assert not around.hunts(around.swing(), loop.freq_hz)


def test_two_held_modes_swing_each_by_itself():
    modes = tuple(ModeControl(mode=m, state="held", attack_s=0.01) for m in (1, 4))
    loop = close_loop(make_plant(), LoopSettings(modes=modes))
    assert [held.mode for held in loop.stated.held] == [0, 3]
    assert all(abs(held.shift_cents) < 0.2 for held in loop.stated.held)
    assert loop.stated.held[1].freq_hz == pytest.approx(FREQ_HZ[3], rel=1e-4)
