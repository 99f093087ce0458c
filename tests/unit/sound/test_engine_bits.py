"""Every build of the core gives the same bits, WebAssembly included, wherever a voice sits."""

from __future__ import annotations

import numpy as np
import pytest
import wasmtime

from modewright.sound.engine import Engine
from modewright.sound.engine_buffers import control_table
from modewright.sound.engine_library import BUILD_FOLDER, load_engine_library

SAMPLES, BLOCK, VOICES = 2400, 32, 8
_PAGE = 65_536


def loaded(program, precision, width, voices=VOICES):
    engine = Engine(precision, width, block=BLOCK)
    for lane in range(voices):
        engine.load(lane, program(lane, modes=12 + lane % 3, observed=6, regulated=4, delay=48))
    return engine


def memory(engine):
    return {name: engine.view(name).copy() for name in engine.library.fields if name != "position"}


@pytest.fixture
def need_avx2():
    if load_engine_library("float32").width == load_engine_library("float32", "baseline").width:
        pytest.skip("this processor has one vector width only")


@pytest.mark.usefixtures("need_avx2")
@pytest.mark.parametrize("precision", ["float32", "float64"])
def test_widths_agree_bit_for_bit(program, curves, inputs, precision):
    runs = []
    for width in ("avx2", "baseline"):
        engine = loaded(program, precision, width)
        moves = [curves(engine._programs[i], SAMPLES // BLOCK, i) for i in range(VOICES)]
        got = engine.run(SAMPLES, curves=moves, **inputs(SAMPLES, VOICES, 9))
        runs.append((engine, got))
    (wide, a), (narrow, b) = runs
    assert wide.library.width == 2 * narrow.library.width
    for name in ("output_v", "command", "level_m"):
        assert getattr(a, name).tobytes() == getattr(b, name).tobytes()
    for name, values in memory(wide).items():
        assert values.tobytes() == memory(narrow)[name].tobytes(), name
    assert wide.limited_samples.min() > 0
    assert np.abs(a.output_v).max() > 1


class WasmCore:
    """The WebAssembly build under wasmtime, with the memory of a native engine copied in."""

    def __init__(self, native):
        engine = wasmtime.Engine()
        store = self.store = wasmtime.Store(engine)
        module = wasmtime.Module.from_file(engine, str(BUILD_FOLDER / "float32.wasm"))
        assert not module.imports
        self.exports = wasmtime.Instance(store, module, []).exports(store)
        self.memory = self.exports["memory"]
        self.top = -(-self.exports["__heap_base"].value(store) // 64) * 64
        self.native = native
        self.engine = self.place(native._memory)

    def call(self, name, *arguments):
        return self.exports[name](self.store, *arguments)

    def place(self, array):
        data = np.ascontiguousarray(array).tobytes()
        start, self.top = self.top, self.top + -(-len(data) // 64) * 64
        missing = self.top - self.memory.data_len(self.store)
        if missing > 0:
            self.memory.grow(self.store, -(-missing // _PAGE))
        self.memory.write(self.store, data, start)
        return start

    def read(self, start, shape):
        size = 4 * int(np.prod(shape))
        return np.frombuffer(
            bytes(self.memory.read(self.store, start, start + size)), np.float32
        ).reshape(shape)

    def text(self, start):
        raw = bytes(self.memory.read(self.store, start, start + 40))
        return raw.split(b"\0")[0].decode()


def test_wasm_has_the_layout_of_the_native_build(program):
    native = loaded(program, "float32", "baseline", voices=1)
    core = WasmCore(native)
    for delay in (1, 255, 256, 8191):
        assert core.call("mw_size", delay) == native.library.size_bytes(delay)
    assert core.call("mw_width") == 4
    assert core.call("mw_field_count") == len(native.library.fields)
    for index, (name, field) in enumerate(native.library.fields.items()):
        assert core.text(core.call("mw_field_name", index)) == name
        assert core.call("mw_field_kind", index) == field.kind
        assert core.call("mw_field_offset", index) == field.offset_bytes
        assert core.call("mw_field_rows", index) == field.rows
        assert core.call("mw_field_stride", index) == field.stride_bytes


def test_wasm_agrees_bit_for_bit(program, curves, inputs):
    native = loaded(program, "float32", "auto")
    core = WasmCore(native)
    moves = [curves(native._programs[i], SAMPLES // BLOCK, i) for i in range(VOICES)]
    given = inputs(SAMPLES, VOICES, 9)
    controls = control_table(native.library, moves, 4, 0, SAMPLES // BLOCK)
    places = [core.place(given[n].astype(np.float32)) for n in ("force_n", "external", "noise_v")]
    places.append(core.place(controls))
    shapes = [(SAMPLES, VOICES), (SAMPLES, VOICES), (SAMPLES // BLOCK, 6, VOICES)]
    results = [core.place(np.zeros(shape, np.float32)) for shape in shapes]
    core.call("mw_run", core.engine, SAMPLES, BLOCK, *places, *results)
    got = native.run(SAMPLES, curves=moves, **given)
    for start, shape, expected in zip(
        results, shapes, (got.output_v, got.command, got.level_m), strict=True
    ):
        assert core.read(start, shape).tobytes() == expected.tobytes()
    assert native.limited_samples.min() > 0
    after = bytes(core.memory.read(core.store, core.engine, core.engine + native._memory.size))
    assert after == native._memory.tobytes()


@pytest.mark.parametrize("lane", [1, 3, 7])
def test_lane_and_company_do_not_matter(program, inputs, lane):
    """Also a strike on another voice must not change a bit."""
    given = inputs(640, VOICES, 5)
    choir = loaded(program, "float32", "auto")
    together = choir.run(640, **given).output_v[:, lane]
    alone = Engine("float32", block=BLOCK)
    alone.load(0, choir._programs[lane])
    single = alone.run(640, **{name: values[:, lane] for name, values in given.items()})
    assert single.output_v[:, 0].tobytes() == together.tobytes()


def test_a_run_can_be_cut_at_any_block(program, inputs):
    given = inputs(SAMPLES, VOICES, 6)
    whole = loaded(program, "float32", "auto").run(SAMPLES, **given)
    engine = loaded(program, "float32", "auto")
    parts = [
        engine.run(960, **{n: v[:960] for n, v in given.items()}),
        engine.run(SAMPLES - 960, **{n: v[960:] for n, v in given.items()}),
    ]
    assert np.concatenate([p.output_v for p in parts]).tobytes() == whole.output_v.tobytes()
    assert np.concatenate([p.level_m for p in parts]).tobytes() == whole.level_m.tobytes()


def test_pieces_of_a_long_run_fit_together(program, curves, inputs):
    samples = 20_010  # neither a whole number of blocks nor of the pieces that a run is cut into
    voice, given = program(1), inputs(samples, 1, 8)
    blocks = -(-samples // BLOCK)
    moves = curves(voice, blocks, 1)
    long, short = Engine("float32", block=BLOCK), Engine("float32", block=BLOCK)
    long.load(0, voice)
    short.load(0, voice)
    whole = long.run(samples, curves=[moves], **given)
    parts = []
    for first in range(0, blocks, 100):
        last = min(first + 100, blocks)
        cut = slice(first * BLOCK, min(last * BLOCK, samples))
        some = {name: values[cut] for name, values in given.items()}
        some["curves"] = [moves.between(first, last)]
        parts.append(short.run(cut.stop - cut.start, **some))
    for name in ("output_v", "command", "level_m"):
        joined = np.concatenate([getattr(part, name) for part in parts])
        assert joined.tobytes() == getattr(whole, name).tobytes()


def test_reset_gives_the_same_again(program, curves, inputs):
    engine, given = loaded(program, "float32", "auto"), inputs(960, VOICES, 7)
    moves = [curves(engine._programs[i], 30, i) for i in range(VOICES)]
    first = engine.run(960, curves=moves, **given).output_v
    engine.reset()
    assert engine.run(960, curves=moves, **given).output_v.tobytes() == first.tobytes()
    engine.reset()
    plain = engine.run(960, **given).output_v
    fresh = loaded(program, "float32", "auto").run(960, **given).output_v
    assert plain.tobytes() == fresh.tobytes()
