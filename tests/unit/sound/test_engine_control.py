"""What the loop in the core is for: holding, damping, and never asking for too much."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modewright.sound.engine import Engine
from modewright.sound.engine_buffers import control_table
from modewright.sound.voice_program import ControlCurves

RATE_HZ = 48_000
LINEAR = {
    "quadratic_per_v": 0.0,
    "cubic_per_v2": 0.0,
    "full_scale_v": 1e3,
    "input_sections": np.zeros((0, 6)),
    "output_sections": np.zeros((0, 6)),
}


def state_level_m(engine, program, mode):
    """Level of the body itself, not as the observer believes it to be."""
    re, im = (float(engine.view(f"body.{part}")[mode, 0]) for part in ("re", "im"))
    return abs(re + 1j * im) / abs(program.pickup_gain[mode])


@pytest.mark.parametrize("held", [0, 1, 2])
def test_one_mode_held_the_others_damped(program, held):
    """In linear units the wanted level is met within 0.5 dB and the others are 50 dB below."""
    voice = program(3, modes=6, observed=6, regulated=3, delay=48, **LINEAR)
    only = np.arange(3) == held
    states = {
        "target_m": np.where(only, 1e-4, 0.0),
        "gain": voice.gain,
        "feedforward": np.where(only, voice.feedforward, 0),
        "integral_gain": np.where(only, voice.integral_gain, 0),
    }
    voice = program(3, modes=6, observed=6, regulated=3, delay=48, **LINEAR, **states)
    engine = Engine("float32")
    engine.load(0, voice)
    force = np.zeros(5 * RATE_HZ)
    force[:48] = 5.0
    engine.run(len(force), force_n=force)
    levels = 20 * np.log10([state_level_m(engine, voice, m) / 1e-4 for m in range(3)])
    assert abs(levels[held]) < 0.5
    assert np.delete(levels, held).max() < -50


def test_damped_mode_decays_as_the_averaged_law_says(program):
    """Krylov & Bogoliubov: a push of kp |p| along w adds a decay rate |b| kp / 2 per sample."""
    free = program(8, modes=1, observed=1, regulated=1, delay=1, **LINEAR)
    changes = {
        "target_m": [0.0],
        "feedforward": [0.0],
        "integral_gain": [0.0],
        "silence_m": [1e-12],
    }
    voice = program(
        8, modes=1, observed=1, regulated=1, delay=1, command_limit=1e6, **LINEAR, **changes,
        amp_limit=[1e6],
    )  # fmt: skip
    engine = Engine("float64")
    engine.load(0, voice)
    force = np.zeros(RATE_HZ // 4)
    force[:24] = 1.0
    level = engine.run(len(force), force_n=force).level_m[:, 0, 0]
    time = np.arange(len(level)) * 32 / RATE_HZ
    use = slice(60, 330)
    rate = -np.polyfit(time[use], np.log(level[use]), 1)[0]
    own = -np.log(abs(free.rotation[0])) * RATE_HZ
    added = abs(free.drive_gain[0]) * free.gain[0] / 2 * RATE_HZ
    assert rate == pytest.approx(own + added, rel=0.03)


def test_nothing_of_a_held_note_is_left_in_a_free_one(program):
    voice = program(4, modes=5, observed=4, regulated=2)
    engine = Engine("float64")
    engine.load(0, voice)
    engine.run(9600)
    assert np.abs(engine.view("regulators.integral")[:2, 0]).min() > 0
    nothing = np.zeros((10, 2))
    curves = ControlCurves(
        target_m=np.zeros((11, 2)),
        gain=np.zeros((11, 2)),
        feedforward=nothing,
        integral_gain=nothing,
        steering=np.ones((10, 2)),
    )
    assert not engine.run(320, curves=[curves]).command.any()


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10**6), limit=st.floats(0, 2), drive=st.floats(0, 1e6))
def test_the_command_never_passes_its_limit(program, inputs, seed, limit, drive):
    voice = program(seed, command_limit=limit)
    engine = Engine("float32")
    engine.load(0, voice)
    given_inputs = inputs(320, 1, seed)
    given_inputs["external"] *= drive
    got = engine.run(320, **given_inputs)
    assert np.abs(got.command).max() <= np.float32(limit)
    assert np.abs(got.output_v).max() <= np.float32(voice.full_scale_v)
    assert engine.peak_demand[0] >= np.abs(got.command).max()


def test_sign_of_mode_shapes_does_not_matter(program, inputs):
    voice = program(5, modes=6, observed=4, regulated=3)
    sign = np.array([1, -1, -1, 1, -1, 1])
    flipped = program(
        5,
        modes=6,
        observed=4,
        regulated=3,
        drive_gain=sign * voice.drive_gain,
        force_gain=sign * voice.force_gain,
        pickup_gain=sign * voice.pickup_gain,
    )
    runs = []
    for each in (voice, flipped):
        engine = Engine("float32")
        engine.load(0, each)
        runs.append(engine.run(960, **inputs(960, 1, 1)).output_v)
    assert runs[0].tobytes() == runs[1].tobytes()


def test_a_linear_voice_scales_with_the_force(program):
    voice = program(6, modes=9, observed=0, regulated=0, **LINEAR)
    runs = []
    for scale in (1.0, 2.0):
        engine = Engine("float64")
        engine.load(0, voice)
        force = np.zeros(960)
        force[3:50] = scale
        runs.append(engine.run(960, force_n=force).output_v)
    np.testing.assert_array_equal(2 * runs[0], runs[1])


def test_driver_and_striker_are_reciprocal(program):
    """A body driven at A and heard at B sounds as one driven at B and heard at A."""
    voice = program(7, modes=9, observed=0, regulated=0, **LINEAR)
    at_a, at_b = np.random.default_rng(0).standard_normal((2, 9))
    swing = np.exp(-1j * np.angle(voice.rotation) / 2)
    runs = []
    for heard, struck in ((at_a, at_b), (at_b, at_a)):
        changes = {"force_gain": -1j * swing * struck, "pickup_gain": heard}
        engine = Engine("float64")
        engine.load(0, program(7, modes=9, observed=0, regulated=0, **LINEAR, **changes))
        force = np.zeros(960)
        force[3:50] = 1e-2
        runs.append(engine.run(960, force_n=force).output_v)
    np.testing.assert_allclose(runs[0], runs[1], rtol=0, atol=1e-13 * np.abs(runs[0]).max())


def test_a_runaway_voice_is_brought_to_rest_alone(program, inputs):
    good = program(1, delay=5)
    growing = program(2, delay=5, rotation=np.full(7, 1.9 + 0j), cubic_per_v2=1e6)
    pair, alone = Engine("float32"), Engine("float32")
    pair.load(0, growing)
    pair.load(1, good)
    alone.load(0, good)
    given_inputs = inputs(4800, 2, 2)
    got = pair.run(4800, **given_inputs)
    single = alone.run(4800, **{name: v[:, 1] for name, v in given_inputs.items()})
    assert pair.fault.tolist() == [True, False]
    assert np.isfinite(got.output_v).all()
    assert np.isfinite(got.command).all()
    assert got.output_v[:, 1].tobytes() == single.output_v[:, 0].tobytes()


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("name", ["force_n", "external", "noise_v"])
@pytest.mark.parametrize("width", ["auto", "baseline"])
@pytest.mark.parametrize("has_sections", [True, False])
def test_what_is_no_number_in_a_signal_is_told_and_not_heard(
    program, inputs, name, bad, width, has_sections
):
    """Infinity too, though a limit would make a number of it."""
    changes = {} if has_sections else {"input_sections": np.zeros((0, 6))}
    engine = Engine("float32", width)
    engine.load(0, program(1, **changes))
    engine.load(1, program(2))
    given_inputs = inputs(160, 2, 3)
    given_inputs[name][40, 0] = bad
    got = engine.run(160, **given_inputs)
    assert engine.fault.tolist() == [True, False]
    assert not got.output_v[32:64, 0].any()
    assert not got.command[32:64, 0].any()
    for values in (got.output_v, got.command, got.level_m):
        assert np.isfinite(values).all()


@pytest.mark.parametrize("bad", [np.nan, np.inf])
@pytest.mark.parametrize("control", range(6))
@pytest.mark.parametrize("record", [1, 2])
def test_what_is_no_number_in_the_controls_is_told_and_not_heard(program, bad, control, record):
    """Straight into the core, as a host without Python's checks would call it."""
    engine = Engine("float32")
    voice = program(1)
    engine.load(0, voice)
    table = control_table(engine.library, [ControlCurves.steady(voice, 3)], 3, 0, 3)
    table[-1, 2:] = table[0, 2:]
    table[record, control, 1, 0] = bad
    shape = (96, engine.library.lanes)
    force, out = np.zeros(shape, np.float32), np.full(shape, np.nan, np.float32)
    force[3:9, 0] = 5.0
    engine.library.calls.mw_run(
        engine._memory.ctypes.data, 96, 32, force.ctypes.data, None, None, table.ctypes.data,
        out.ctypes.data, None, None,
    )  # fmt: skip
    assert engine.fault.tolist() == [True]
    assert np.isfinite(out).all()
    assert not out[32 * record : 32 * (record + 1), 0].any()


def test_free_modes_are_pushed_by_nothing(program, inputs):
    """Observed and treated, but free: no command, and the sound without a loop, bit for bit."""
    nothing = dict.fromkeys(("target_m", "gain", "feedforward", "integral_gain"), np.zeros(3))
    free, open_loop = program(1, **nothing), program(1, regulated=0, **no_regulators())
    runs = []
    for voice in (free, open_loop):
        engine = Engine("float32")
        engine.load(0, voice)
        given_inputs = inputs(9600, 1, 4)
        runs.append(
            engine.run(9600, force_n=given_inputs["force_n"], noise_v=given_inputs["noise_v"])
        )
        assert engine.peak_demand[0] == 0
    assert not runs[0].command.any()
    assert np.abs(runs[0].output_v).max() > 0.1
    assert runs[0].output_v.tobytes() == runs[1].output_v.tobytes()


def test_levels_of_faint_motion_are_exact(program):
    """A linear body without a loop: a blow 2^-60 times as strong, to the bit so much less motion.

    Its motion lies at 1e-22 m, whose square no float32 can hold.
    """
    voice = program(5, modes=6, observed=6, regulated=0, **LINEAR, **no_regulators())
    force = np.zeros(4800)
    force[:48] = 5.0
    levels = []
    for scale in (1.0, 2.0**-60):
        engine = Engine("float32")
        engine.load(0, voice)
        levels.append(engine.run(len(force), force_n=scale * force).level_m / np.float32(scale))
    assert 0 < levels[1][-1].max() * 2.0**-60 < 1e-21
    assert levels[0].tobytes() == levels[1].tobytes()


def test_motion_too_faint_to_push_is_left_alone(program):
    """A damped body: a tenth of a nanometre is pushed, 1e-22 m is not, whose push is denormal."""
    nothing = np.zeros(3)
    damped = {"target_m": nothing, "feedforward": nothing, "integral_gain": nothing}
    voice = program(5, modes=6, observed=6, regulated=3, **LINEAR, **damped)
    force = np.zeros(4800)
    force[:48] = 5.0
    commands = []
    for scale in (2.0**-20, 2.0**-60):
        engine = Engine("float32")
        engine.load(0, voice)
        commands.append(engine.run(len(force), force_n=scale * force).command)
    assert np.abs(commands[0]).max() > 0
    assert not commands[1].any()


def no_regulators():
    names = (
        "target_m", "gain", "feedforward", "integral_gain", "integral_limit", "amp_limit",
        "silence_m", "steering",
    )  # fmt: skip
    return dict.fromkeys(names, np.zeros(0))
