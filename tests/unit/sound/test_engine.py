"""The Python side of the core: memory, loading, and what it refuses."""

from __future__ import annotations

import numpy as np
import pytest

from modewright.errors import ModewrightError
from modewright.loop.plant import LONGEST_DELAY_SAMPLES
from modewright.sound import engine_library
from modewright.sound.engine import Engine
from modewright.sound.engine_library import load_engine_library
from modewright.sound.voice_program import ControlCurves


@pytest.mark.parametrize("precision", ["float32", "float64"])
def test_fields_lie_inside_and_apart(precision):
    library = load_engine_library(precision)
    size = library.size_bytes(100)
    taken = np.zeros(size, dtype=int)
    for name in library.fields:
        memory = np.zeros(size, dtype=np.uint8)
        view = library.view(memory, name)
        view.view(np.int64 if view.itemsize == 8 else np.int32)[:] = -1
        taken += memory == 255
    assert taken.max() == 1
    # All that no field covers is what keeps the numbers on the cache lines.
    assert np.count_nonzero(taken == 0) < 64


def test_coefficients_reach_their_places(program):
    voice = program(3)
    engine = Engine("float64")
    engine.load(5, voice)
    rows = slice(voice.mode_count)
    turn = engine.view("body.turn_re")[rows, 5] + 1j * engine.view("body.turn_im")[rows, 5]
    np.testing.assert_array_equal(turn, voice.rotation - 1)
    np.testing.assert_array_equal(engine.view("input.a1")[:2, 5], voice.input_sections[:, 4])
    np.testing.assert_array_equal(engine.view("regulators.silence")[:3, 5], voice.silence_m)
    assert engine.view("regulators.silence")[3:, 5].min() == 1
    assert engine.view("delay")[0, 0] == voice.delay_samples
    assert engine.voices == 6
    assert not engine.view("body.turn_re")[:, [0, 1, 2, 3, 4, 6, 7]].any()


def test_a_smaller_voice_replaces_a_larger_one(program, inputs):
    engine, fresh = Engine("float32"), Engine("float32")
    engine.load(0, program(1, modes=20, observed=8, regulated=6))
    engine.run(320, **inputs(320, 1, 0))
    for each in (engine, fresh):
        each.load(0, program(2))
        each.reset()
    assert engine.view("modes")[0, 0] == 7
    got = [each.run(320, **inputs(320, 1, 1)).output_v for each in (engine, fresh)]
    assert got[0].tobytes() == got[1].tobytes()


def test_wrong_lane_and_delay(program):
    engine = Engine()
    with pytest.raises(ValueError, match="lane: expected 0 to 7, got 8"):
        engine.load(8, program(0))
    engine.load(0, program(0, delay=5))
    with pytest.raises(ValueError, match="expected 5 as in the other lanes, got 6"):
        engine.load(1, program(0, delay=6))
    engine.load(0, program(0, delay=6))
    assert engine.view("delay")[0, 0] == 6


def test_delay_line_is_as_long_as_asked_for(program):
    engine = Engine("float32", longest_delay=300)
    assert engine.view("command").shape == (512, 8)
    engine.load(0, program(0, delay=300))
    with pytest.raises(ValueError, match="at most the 300 that the engine was made for, got 301"):
        engine.load(0, program(0, delay=301))
    for wrong in (0, 8192):
        with pytest.raises(ValueError, match=f"longest_delay: expected 1 to 8191, got {wrong}"):
            Engine(longest_delay=wrong)
    assert Engine().library.longest_delay == LONGEST_DELAY_SAMPLES == 8191


@pytest.mark.parametrize("delay", [1, 255, 256, 384, 5000])
def test_room_for_longer_delays_changes_no_bit(program, inputs, delay):
    runs = []
    for room in (delay, 8191):
        engine = Engine("float32", longest_delay=room)
        engine.load(0, program(1, delay=delay))
        runs.append(engine.run(6000, **inputs(6000, 1, 2)).output_v)
    assert runs[0].tobytes() == runs[1].tobytes()


def test_too_many_modes(program):
    with pytest.raises(ValueError, match=r"body.turn_re: expected at most 256 values, got 257"):
        Engine().load(0, program(0, modes=257))


def test_a_refused_voice_changes_nothing(program, inputs):
    engine, fresh = Engine("float32"), Engine("float32")
    for each in (engine, fresh):
        each.load(0, program(0))
    bad = program(1, modes=30, silence_m=np.full(3, 1e300))
    with pytest.raises(ModewrightError, match=r"regulators.silence within float32, got 1e\+300"):
        engine.load(0, bad)
    got = [each.run(320, **inputs(320, 1, 1)).output_v for each in (engine, fresh)]
    assert got[0].tobytes() == got[1].tobytes()


def test_wrong_runs(program):
    engine = Engine()
    with pytest.raises(
        ValueError, match="expected samples and a loaded voice, got 32 samples and 0"
    ):
        engine.run(32)
    voice = program(0)
    engine.load(0, voice)
    with pytest.raises(ValueError, match="got 0 samples and 1 voices"):
        engine.run(0)
    with pytest.raises(ValueError, match=r"force_n: expected shape \(32,\) or \(32, 1\), got \(3"):
        engine.run(32, force_n=np.zeros(31))
    with pytest.raises(ValueError, match="curves: expected one for each of 1 voices, got 0"):
        engine.run(32, curves=[])
    with pytest.raises(ValueError, match=r"\(blocks, regulated\) = \(2, 3\), got \(1, 3\)"):
        engine.run(33, curves=[ControlCurves.steady(voice, 1)])
    with pytest.raises(ValueError, match="block: expected one sample or more, got 0"):
        Engine(block=0)


def test_missing_build_says_how_to_make_it(monkeypatch, tmp_path):
    monkeypatch.setattr(engine_library, "BUILD_FOLDER", tmp_path)
    engine_library._load.cache_clear()
    with pytest.raises(
        ModewrightError, match=r"got no such file. Build it with `python engine/bui"
    ):
        load_engine_library("float64", "baseline")


def test_avx2_is_not_forced_on_a_processor_without_it(monkeypatch):
    monkeypatch.setattr(engine_library, "_has_avx2", lambda: False)
    assert load_engine_library("float32", "auto").name.startswith("float32-baseline")
    with pytest.raises(ModewrightError, match="expected a processor with AVX2, got"):
        load_engine_library("float32", "avx2")
