"""The time-domain core against the loop's predictions, and what a score does to it."""

import dataclasses
import tracemalloc

import numpy as np
import pytest
from scipy import signal

from made_up_plant import FREQ_HZ, RATE_HZ, make_plant
from modewright.errors import LoopError, ScoreError
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.sound.performance import make_sound, perform, perform_to
from modewright.sound.score import Change, Hold, Noise, Oscillator, Score, Strike
from modewright.sound.settings import ListeningSettings, StrikeSettings

TREATED = 6
REFERENCE = (0.0, 0.0)
SOFT = StrikeSettings(force_n=0.2, width_s=2e-4)


class OneModeShapes:
    """Shapes of a body on which a force at the reference point moves only the chosen modes."""

    def __init__(self, *modes):
        self.row = np.zeros(len(FREQ_HZ))
        self.row[list(modes)] = 22.0
        self.mode_count = len(FREQ_HZ)

    def displacement(self, points_m):
        found = np.zeros((len(points_m), 3, len(self.row)))
        found[:, 2] = self.row
        return found


@pytest.fixture(scope="module")
def loop():
    controls = tuple(ModeControl(mode=i + 1, decay_s=0.3) for i in range(TREATED))
    return close_loop(make_plant(), LoopSettings(modes=controls))


def fit_mode(voltage, near_hz):
    """Frequency and decay rate of the one loud mode near a frequency, from the analytic signal."""
    time_s = np.arange(len(voltage)) / RATE_HZ
    low = signal.butter(4, 25.0, fs=RATE_HZ, output="sos")
    mixed = voltage * np.exp(-2j * np.pi * near_hz * time_s)
    envelope = signal.sosfiltfilt(low, mixed)
    use = (time_s > 0.15) & (time_s < 0.45)
    phase = np.unwrap(np.angle(envelope[use]))
    slope = np.polyfit(time_s[use], phase, 1)[0]
    rate = -np.polyfit(time_s[use], np.log(np.abs(envelope[use])), 1)[0]
    return near_hz + slope / (2 * np.pi), rate


@pytest.mark.parametrize("mode", range(TREATED))
def test_damped_mode_follows_its_predicted_pole(loop, mode):
    score = Score(length_s=0.8, start="damped", strikes=(Strike(at_s=0.0),))
    played = perform(
        loop, OneModeShapes(mode), score, SOFT, REFERENCE, precision="float64", noise_seed=None
    )
    freq_hz, rate = fit_mode(played.voltage_v, FREQ_HZ[mode])
    poles = loop.all_damped.poles
    assert played.limited_share == 0
    assert abs(1200 * np.log2(freq_hz / poles.freq_hz[mode])) < 0.01
    assert rate == pytest.approx(poles.decay_rate_per_s[mode], rel=0.002)


def amplitude_v(voltage, freq_hz):
    """Amplitude of a partial by a window whose side lobes lie below -90 dB."""
    window = signal.windows.blackmanharris(len(voltage))
    turn = np.exp(-2j * np.pi * freq_hz * np.arange(len(voltage)) / RATE_HZ)
    return 2 * np.abs(np.sum(voltage * window * turn)) / window.sum()


@pytest.mark.parametrize("mode", range(TREATED))
def test_each_mode_alone_is_held_and_the_others_are_silent(loop, mode):
    score = Score(
        length_s=6.0,
        start="damped",
        strikes=(Strike(at_s=0.0),),
        holds=(Hold(mode=mode + 1, at_s=0.0),),
    )
    shapes = OneModeShapes(*range(TREATED))
    played = perform(loop, shapes, score, SOFT, REFERENCE)
    late = played.voltage_v[int(5.0 * RATE_HZ) :]
    plant = loop.plant
    per_metre = np.abs(plant.pickup_gain * plant.input_sections.at(plant.rotation))
    level_m = [amplitude_v(late, FREQ_HZ[i]) / per_metre[i] for i in range(TREATED)]
    wanted_m = loop.regulators.level_m[mode]
    assert abs(20 * np.log10(level_m[mode] / wanted_m)) < 0.5
    others = [20 * np.log10(level_m[i] / level_m[mode]) for i in range(TREATED) if i != mode]
    assert max(others) < -50


def test_same_seed_same_sound_and_float32_close_to_float64(loop):
    score = Score(length_s=0.5, strikes=(Strike(at_s=0.0),), holds=(Hold(mode=2, at_s=0.1),))
    shapes = OneModeShapes(0, 1, 2)
    first, again, double = (
        perform(loop, shapes, score, SOFT, REFERENCE, precision=precision).voltage_v
        for precision in ("float32", "float32", "float64")
    )
    np.testing.assert_array_equal(first, again)
    assert np.abs(first - double).max() < 1e-4 * np.abs(double).max()


def test_oscillator_moves_the_level_as_written(loop):
    swing = Oscillator(rate_hz=1.0, depth=0.5)
    hold = Hold(mode=1, at_s=0.0, attack_s=0.05, oscillator=swing)
    played = perform(
        loop, OneModeShapes(0), Score(length_s=5.0, holds=(hold,)), SOFT, REFERENCE, noise_seed=None
    )
    level = played.level_m[:, 0] / loop.regulators.level_m[0]
    later = level[played.level_time_s > 2]
    # A mode with Q = 800 at 197 Hz follows a swing of 1 Hz: the loop pushes and brakes it.
    assert later.max() == pytest.approx(1.5, abs=0.1)
    assert later.min() == pytest.approx(0.5, abs=0.1)


def test_noise_drive_is_heard_and_seeded(loop):
    def voltage(seed):
        noise = Noise(at_s=0.0, until_s=0.5, level=0.05, seed=seed)
        score = Score(length_s=0.5, noises=(noise,))
        return perform(loop, OneModeShapes(0), score, SOFT, REFERENCE, noise_seed=None).voltage_v

    np.testing.assert_array_equal(voltage(3), voltage(3))
    assert np.abs(voltage(3) - voltage(4)).max() > 0.1 * np.abs(voltage(3)).max() > 0


def test_driver_limit_is_never_passed(loop):
    holds = tuple(Hold(mode=n, at_s=0.0, level_m=1e-2, attack_s=0.0) for n in (5, 6))
    played = perform(loop, OneModeShapes(0), Score(length_s=0.5, holds=holds), SOFT, REFERENCE)
    assert np.abs(played.command).max() <= loop.plant.command_limit * (1 + 1e-6)
    assert played.limited_share > 0


def test_one_regulator_at_its_limit_counts_and_its_short_level_is_told(loop):
    """At the limit a mode comes to |b| limit/(2 σ) per sample, whatever is asked of it."""
    highest_m = loop.authority.highest_level_driver_m[5]
    wanted_m = float(4 * highest_m)
    hold = Hold(mode=6, at_s=0.0, level_m=wanted_m, attack_s=0.0)
    played = perform(
        loop, OneModeShapes(0), Score(length_s=2.0, holds=(hold,)), SOFT, REFERENCE, noise_seed=None
    )
    assert np.abs(played.command).max() <= loop.plant.command_limit * (1 + 1e-6)
    assert played.limited_share > 0.95
    (held,) = played.held
    assert held.is_short
    assert held.mode == 5
    assert held.wanted_m == pytest.approx(wanted_m)
    assert held.reached_m == pytest.approx(highest_m, rel=0.01)
    assert "the driver allows" in held.sentence


def test_a_level_that_comes_is_not_called_short(loop):
    hold = Hold(mode=6, at_s=0.0)
    played = perform(loop, OneModeShapes(0), Score(length_s=1.0, holds=(hold,)), SOFT, REFERENCE)
    (held,) = played.held
    assert not held.is_short
    cut = Hold(mode=6, at_s=0.0, until_s=0.01)
    played = perform(loop, OneModeShapes(0), Score(length_s=1.0, holds=(cut,)), SOFT, REFERENCE)
    assert [h.is_short for h in played.held] == [True]
    assert "too short for its attack" in played.held[0].sentence


def test_unstable_loop_is_not_rendered(loop):
    wrong = dataclasses.replace(loop.plant, pickup_gain=-loop.plant.pickup_gain)
    bad = dataclasses.replace(loop, plant=wrong)
    score = Score(length_s=0.1, start="damped")
    with pytest.raises(LoopError, match=r"got a howl from 0\.00 s on: Unstable \(modes 1, 2, 3, 4"):
        perform(bad, OneModeShapes(0), score, SOFT, REFERENCE)
    silent = perform(bad, OneModeShapes(0), Score(length_s=0.1), SOFT, REFERENCE, noise_seed=None)
    assert np.abs(silent.voltage_v).max() == 0


def test_a_hold_in_which_the_loop_howls_is_refused_by_name_and_time():
    """Mode 8 held fast feeds its neighbour, heard upside down; the design states it damped."""
    plant = make_plant()
    heard = plant.pickup_gain * np.where(np.arange(len(FREQ_HZ)) == 8, -1, 1)
    howling = close_loop(
        dataclasses.replace(plant, pickup_gain=heard),
        LoopSettings(
            modelled_modes=8,
            observer_bandwidth_hz=20.0,
            modes=(ModeControl(mode=1), ModeControl(mode=8, decay_s=1.0, attack_s=0.005)),
        ),
    )
    held = Score(length_s=0.5, start="damped", holds=(Hold(mode=8, at_s=0.25),))
    message = r"howl from 0\.25 s on: Unstable \(mode 8 held; mode 1 damped\): mode 9 .* 3014\.9 Hz"
    with pytest.raises(LoopError, match=message):
        perform(howling, OneModeShapes(0), held, SOFT, REFERENCE)
    other = Score(length_s=0.2, start="damped", holds=(Hold(mode=1, at_s=0.1),))
    played = perform(howling, OneModeShapes(0), other, SOFT, REFERENCE)
    assert played.level_m[-1, 0] > 0


def test_score_for_an_untreated_mode_is_refused(loop):
    score = Score(length_s=0.1, holds=(Hold(mode=9, at_s=0.0),), changes=())
    with pytest.raises(ScoreError, match=r"treated modes \(1, 2, 3, 4, 5, 6\), got 9"):
        perform(loop, OneModeShapes(0), score, SOFT, REFERENCE)


def test_release_into_damping(loop):
    score = Score(
        length_s=3.0,
        holds=(Hold(mode=1, at_s=0.0, until_s=1.0, release_s=0.1),),
        changes=(Change(at_s=2.0, to="free"),),
    )
    played = perform(loop, OneModeShapes(0), score, SOFT, REFERENCE, noise_seed=None)
    at = np.searchsorted(played.level_time_s, [0.9, 1.6])
    assert played.level_m[at[1], 0] < 1e-3 * played.level_m[at[0], 0]


def test_no_file_is_louder_than_its_ceiling(loop):
    score = Score(length_s=0.2, strikes=(Strike(at_s=0.0),))
    loud = StrikeSettings(force_n=50.0)
    played = perform(loop, OneModeShapes(0, 1), score, loud, REFERENCE)
    sound = make_sound(played, ListeningSettings(ceiling_db=-6.0), 0.001)
    assert np.abs(sound.samples).max() <= 10 ** (-6 / 20) * (1 + 1e-9)
    assert sound.lowered_db > 0
    np.testing.assert_allclose(sound.samples * sound.full_scale, played.voltage_v, rtol=1e-12)


def test_pieces_are_the_performance_and_take_no_memory_with_time(loop):
    """Forty seconds in float64 would be 15 MB for each of voltage, command, force and noises."""
    score = Score(length_s=40.0, strikes=(Strike(at_s=0.0), Strike(at_s=39.0)))
    shapes, loudest, counted = OneModeShapes(0, 1), [], []

    def hear(voltage_v):
        loudest.append(np.abs(voltage_v).max())
        counted.append(len(voltage_v))

    tracemalloc.start()
    outcome = perform_to(hear, loop, shapes, score, SOFT, REFERENCE)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 30e6
    played = perform(loop, shapes, score, SOFT, REFERENCE)
    assert sum(counted) == len(played.voltage_v) == 40 * RATE_HZ
    assert max(loudest) == np.abs(played.voltage_v).max()
    assert outcome.clipped_share == played.clipped_share
