"""Predictions for a mode beside its model against the time-domain core that plays it."""

import dataclasses

import numpy as np
import pytest
from scipy import signal

from made_up_plant import FREQ_HZ, RATE_HZ, make_plant
from modewright.loop.close import close_loop
from modewright.loop.detuning import detune_mode, detuning_of_modes
from modewright.loop.level_loop import level_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.performance import perform
from modewright.sound.score import Hold, Score, Strike
from modewright.sound.settings import StrikeSettings

CENTS = (-5.0, -1.0, 1.0, 5.0)
SOFT = StrikeSettings(force_n=0.02, width_s=2e-4)


class OneModeShapes:
    """A body on which a force at the reference point moves only one mode."""

    mode_count = len(FREQ_HZ)

    def __init__(self, mode):
        self.mode = mode

    def displacement(self, points_m):
        found = np.zeros((len(points_m), 3, self.mode_count))
        found[:, 2, self.mode] = 22.0
        return found


@pytest.fixture(scope="module")
def loop():
    modes = tuple(ModeControl(mode=i + 1, decay_s=0.3) for i in range(6))
    return close_loop(make_plant(), LoopSettings(modes=modes))


@pytest.fixture(scope="module")
def predicted(loop):
    return detuning_of_modes(loop, CENTS)


def play(loop, mode, cents, **score):
    """Voltage of the mode alone as an analytic signal about its own free pitch."""
    plant = detune_mode(loop.plant, mode, cents)
    played = perform(
        dataclasses.replace(loop, plant=plant),
        OneModeShapes(mode),
        Score(start="damped", **score),
        SOFT,
        (0.0, 0.0),
        precision="float64",
        noise_seed=None,
    )
    assert played.limited_share == 0
    time_s = np.arange(len(played.voltage_v)) / RATE_HZ
    free_hz = np.angle(plant.rotation[mode]) * RATE_HZ / (2 * np.pi)
    mixed = played.voltage_v * np.exp(-2j * np.pi * free_hz * time_s)
    low = signal.butter(4, 25.0, fs=RATE_HZ, output="sos")
    return free_hz, time_s, 2 * signal.sosfiltfilt(low, mixed)


def pull_cents(free_hz, time_s, envelope):
    slope = np.polyfit(time_s, np.unwrap(np.angle(envelope)), 1)[0]
    return 1200 * np.log2(1 + slope / (2 * np.pi * free_hz))


@pytest.mark.parametrize("which", [0, 3])
@pytest.mark.parametrize("mode", [0, 5])
def test_held_mode(loop, predicted, mode, which):
    free_hz, time_s, envelope = play(
        loop, mode, CENTS[which], length_s=12.0, holds=(Hold(mode=mode + 1, at_s=0.0),)
    )
    use = (time_s > 10.0) & (time_s < 11.8)
    plant, found = loop.plant, predicted[mode]
    turn = np.exp(2j * np.pi * free_hz / RATE_HZ)
    volts_per_m = np.abs(plant.pickup_gain[mode] * plant.input_sections.at(turn))
    level_m = np.abs(envelope[use]).mean() / volts_per_m
    level_db = 20 * np.log10(level_m / loop.regulators.level_m[mode])
    assert level_db == pytest.approx(found.held_level_db[which], abs=0.02)
    pull = pull_cents(free_hz, time_s[use], envelope[use])
    assert pull == pytest.approx(found.held_pull_cents[which], abs=0.03)


@pytest.mark.parametrize("which", [0, 3])
@pytest.mark.parametrize("mode", [0, 5])
def test_damped_mode(loop, predicted, mode, which):
    free_hz, time_s, envelope = play(
        loop, mode, CENTS[which], length_s=0.8, strikes=(Strike(at_s=0.0),)
    )
    use = (time_s > 0.2) & (time_s < 0.4)
    found = predicted[mode]
    rate = -np.polyfit(time_s[use], np.log(np.abs(envelope[use])), 1)[0]
    assert 3 * np.log(10) / rate == pytest.approx(found.damped_t60_s[which], rel=0.005)
    pull = pull_cents(free_hz, time_s[use], envelope[use])
    assert pull == pytest.approx(found.damped_pull_cents[which], abs=0.03)


def test_without_detuning_nothing_is_left_but_the_loop_itself(loop):
    for each in detuning_of_modes(loop, (0.0,)):
        assert each.damped_t60_s[0] == pytest.approx(0.3, rel=0.02)
        # What other modes leave in the observer is all there is.
        assert abs(each.held_level_db[0]) < 0.01
        assert abs(each.held_pull_cents[0]) < 0.5
        poles = loop.all_damped.poles
        assert each.damped_pull_cents[0] == pytest.approx(poles.shift_cents[each.mode], abs=1e-9)


def test_a_narrower_observer_bears_less():
    found = []
    for bandwidth_hz in (12.0, 4.0):
        settings = LoopSettings(
            observer_bandwidth_hz=bandwidth_hz, modes=(ModeControl(mode=6, state="held"),)
        )
        found.append(detuning_of_modes(close_loop(make_plant(), settings))[0])
    assert np.all(np.abs(found[1].held_level_db) > 2 * np.abs(found[0].held_level_db))


def test_a_moved_mode_keeps_its_quality(loop):
    plant = detune_mode(loop.plant, 4, 100.0)
    assert plant.freq_hz[4] == pytest.approx(1500 * 2 ** (1 / 12))
    turn, rate = np.angle(plant.rotation[4]) * RATE_HZ, plant.decay_rate_per_s[4]
    assert turn / (2 * rate) == pytest.approx(800, rel=1e-5)
    np.testing.assert_array_equal(np.delete(plant.rotation, 4), np.delete(loop.plant.rotation, 4))


def leaking_loop():
    modes = tuple(ModeControl(mode=i + 1, decay_s=0.05 if i == 2 else 0.5) for i in range(6))
    return close_loop(make_plant(), LoopSettings(modes=modes))


def test_a_mode_that_must_be_braked_is_held():
    """Mode 3, damped hard, leaks into mode 1: 20 cents up it would grow, and is held though."""
    loop = leaking_loop()
    plant = detune_mode(loop.plant, 0, 20.0)
    around = level_loop(plant, loop.observer, loop.regulators, loop.regulators.state, 0)
    assert around.swing().gain < 0
    found = detuning_of_modes(loop, (20.0,))[0]
    assert not found.faults
    free_hz, time_s, envelope = play(loop, 0, 20.0, length_s=12.0, holds=(Hold(mode=1, at_s=0.0),))
    use = (time_s > 10.0) & (time_s < 11.8)
    turn = np.exp(2j * np.pi * free_hz / RATE_HZ)
    volts_per_m = np.abs(plant.pickup_gain[0] * plant.input_sections.at(turn))
    level_db = 20 * np.log10(
        np.abs(envelope[use]).mean() / volts_per_m / loop.regulators.level_m[0]
    )
    assert level_db == pytest.approx(found.held_level_db[0], abs=0.02)
    assert pull_cents(free_hz, time_s[use], envelope[use]) == pytest.approx(
        found.held_pull_cents[0], abs=0.03
    )


def test_what_cannot_be_told_is_named_and_hides_nothing_else():
    """A driver too weak to brake mode 1 at its level still holds it where it has to be fed."""
    loop = leaking_loop()
    weak = loop.regulators.command_limit.copy()
    weak[0] = 0.01 * loop.regulators.sustain_gain[0] * loop.regulators.level_m[0]
    loop = dataclasses.replace(
        loop, regulators=dataclasses.replace(loop.regulators, command_limit=weak)
    )
    first, *others = detuning_of_modes(loop, (1.0, 20.0))
    np.testing.assert_array_equal(np.isfinite(first.held_level_db), [True, False])
    assert np.all(np.isfinite(first.damped_t60_s))
    (text,) = first.faults
    assert "mode 1 (mode at 197), +20 cents beside its model, has no steady swing" in text
    assert all(np.all(np.isfinite(other.held_level_db)) for other in others)
