"""Holds that begin on a mode that already sounds."""

import types

import numpy as np
import pytest

from made_up_plant import FREQ_HZ, make_plant
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.engine import Engine
from modewright.sound.inputs import InputSignals
from modewright.sound.performance import BLOCK
from modewright.sound.playing import play
from modewright.sound.program import voice_program
from modewright.sound.score import Change, Hold, Score, Strike
from modewright.sound.settings import StrikeSettings
from modewright.sound.timeline import build_timeline

STRIKE = StrikeSettings(force_n=0.2, width_s=2e-4)
BLOCK_S = BLOCK / 48000


@pytest.fixture(scope="module")
def loop():
    return close_loop(
        make_plant(), LoopSettings(modes=tuple(ModeControl(mode=i + 1) for i in range(3)))
    )


def run(loop, level_m, **score):
    """Play a score on a body whose first mode alone is struck, to about `level_m`."""
    plant = loop.plant
    impulse = STRIKE.force_n * STRIKE.width_s / 2 * plant.rate_hz
    force_gain = np.where(np.arange(len(FREQ_HZ)) == 0, level_m / impulse, 0) + 0j
    score = Score(strikes=(Strike(at_s=0.0),), **score)
    timeline = build_timeline(score, loop.regulators, plant.rate_hz, BLOCK)
    engine = Engine("float64", block=BLOCK)
    engine.load(0, voice_program(loop, force_gain))
    inputs = InputSignals(score, STRIKE, plant.rate_hz)
    heard = []
    played = play(engine, timeline, loop.regulators, inputs, lambda *piece: heard.append(piece))
    voltage_v, command = (np.concatenate(pieces) for pieces in zip(*heard, strict=True))
    return types.SimpleNamespace(
        voltage_v=voltage_v, command=command, level_m=played.level_m, target_m=played.target_m
    )


def at(time_s):
    return round(time_s / BLOCK_S)


@pytest.mark.parametrize("ends_at", [0.25, 1.0, 3.0])
def test_hold_on_a_ringing_free_mode_goes_straight_from_what_sounds(loop, ends_at):
    """Struck to 30 um and left alone, then led in 0.4 s to a quarter, the same, or three times."""
    wanted_m = ends_at * 30e-6
    hold = Hold(mode=1, at_s=0.2, level_m=wanted_m, attack_s=0.4)
    played = run(loop, 30e-6, length_s=1.5, holds=(hold,))
    level = played.level_m[:, 0]
    begin = level[at(0.2) - 2]
    assert begin == pytest.approx(30e-6 * np.exp(-loop.plant.decay_rate_per_s[0] * 0.2), rel=0.05)
    time_s = (np.arange(len(level)) + 1) * BLOCK_S
    line = np.interp(time_s, [0.2, 0.6], [begin, wanted_m])
    during = slice(at(0.2), at(1.5) - 1)
    # The regulator follows its wanted level with a time constant of 50 ms.
    lag = abs(wanted_m - begin) / 0.4 * 0.05
    assert np.abs(level - line)[during].max() < 1.1 * lag + 0.01 * begin
    # The integral learns the slope and overshoots by a few hundredths of the way.
    beyond = 0.03 * abs(wanted_m - begin) + 0.005 * begin
    assert level[during].min() > min(begin, wanted_m) - beyond
    assert level[during].max() < max(begin, wanted_m) + beyond


def test_hold_after_damping_begins_from_what_is_left(loop):
    hold = Hold(mode=1, at_s=0.1, level_m=30e-6, attack_s=0.2)
    played = run(loop, 30e-6, length_s=0.5, start="damped", holds=(hold,))
    level = played.level_m[:, 0]
    assert played.target_m[at(0.1), 0] == pytest.approx(level[at(0.1) - 2], rel=1e-9)
    assert level[at(0.1) :].min() > 0.9 * level[at(0.1) - 2]


def test_silent_mode_begins_from_nothing_and_later_holds_from_the_level_asked_for(loop):
    holds = (
        Hold(mode=2, at_s=0.1, level_m=20e-6, attack_s=0.1),
        Hold(mode=2, at_s=0.15, level_m=5e-6, attack_s=0.1),
    )
    played = run(loop, 0.0, length_s=0.4, holds=holds, changes=(Change(at_s=0.3, to="free"),))
    moments = [at(t) for t in (0.1, 0.15, 0.2, 0.25, 0.29, 0.31)]
    wanted_m = [0, 10e-6, 7.5e-6, 5e-6, 5e-6, 0]
    np.testing.assert_allclose(played.target_m[moments, 1], wanted_m, atol=1e-9)
    assert not played.target_m[:, 0].any()


def test_hold_that_a_change_cuts_off_writes_nothing_beyond(loop):
    hold = Hold(mode=1, at_s=0.1, level_m=10e-6, attack_s=0.4)
    change = Change(at_s=0.2, to="damped")
    played = run(loop, 30e-6, length_s=0.4, holds=(hold,), changes=(change,))
    assert played.target_m[at(0.2) - 1, 0] > 10e-6
    assert not played.target_m[at(0.2) :, 0].any()


def test_free_score_sends_no_command_at_all(loop):
    played = run(loop, 30e-6, length_s=0.5, start="free")
    assert np.abs(played.voltage_v).max() > 0.1
    assert not played.command.any()
