"""What the build makes for which computer, and that it does nothing twice."""

from __future__ import annotations

import importlib.util
import json
import re
import sys
import types
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="module")
def builder():
    path = ROOT / "engine" / "build.py"
    spec = importlib.util.spec_from_file_location("engine_build_under_test", path)
    module = sys.modules[spec.name] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    yield module
    del sys.modules[spec.name]


@pytest.mark.parametrize(
    ("system", "machine", "names"),
    [
        ("linux", "x86_64", {"float64-avx2.so", "float32-avx2.so", "float64-baseline.so"}),
        ("linux", "aarch64", {"float64-baseline.so", "float32-baseline.so"}),
        ("macos", "aarch64", {"float32-baseline.dylib"}),
        ("windows", "x86_64", {"float32-avx2.dll"}),
    ],
)
def test_builds_name_target_and_processor(builder, system, machine, names):
    made = builder.artefacts(system, machine)
    assert names | {"float32.wasm"} <= {a.name for a in made}
    for artefact in made:
        assert "-target" in artefact.options
        assert any(option.startswith("-mcpu=") for option in artefact.options)
        assert not any("native" in option for option in artefact.options)
    assert (machine == "x86_64") == any("avx2" in a.name for a in made)


@pytest.mark.slow
def test_builds_once_and_reproducibly(builder, tmp_path):
    made = builder.build(tmp_path)
    stamps = [path.stat().st_mtime_ns for path in made]
    assert builder.build(tmp_path) == made
    assert [path.stat().st_mtime_ns for path in made] == stamps
    wasm = (tmp_path / "float32.wasm").read_bytes()
    assert wasm == (builder.OUTPUT / "float32.wasm").read_bytes()
    (tmp_path / "float32.wasm").write_bytes(b"")
    (tmp_path / builder.RECORD).unlink()
    builder.build(tmp_path)
    assert (tmp_path / "float32.wasm").read_bytes() == wasm


def test_source_calls_no_library(builder):
    # One lane wide, in firmware, the square root is that of the C library.
    for path in builder.HASHED:
        included = re.findall(r'#include [<"](.+)[>"]', path.read_text())
        allowed = {"engine.h", "control.h", "numbers.h", "stddef.h", "stdint.h"}
        assert set(included) <= allowed | ({"math.h"} if path.name == "numbers.h" else set())


@pytest.fixture
def compiled(builder, monkeypatch):
    """A stand-in for the compiler that writes its words; gives the names it was told to write."""
    named = []

    def run(command, **_):
        target = Path(command[command.index("-o") + 1])
        target.write_text(" ".join(command[1:4]))
        named.append(target.name)
        return types.SimpleNamespace(returncode=0, stderr="")

    monkeypatch.setattr(builder.subprocess, "run", run)
    return named


@pytest.mark.parametrize("record", ["", '{"float32.wasm": "8', "[]", "\xff"])
def test_damaged_record_is_worth_no_more_than_a_missing_one(builder, compiled, record, tmp_path):
    (tmp_path / builder.RECORD).write_bytes(record.encode("latin-1"))
    made = builder.build(tmp_path)
    assert len(compiled) == len(made)
    assert json.loads((tmp_path / builder.RECORD).read_text()).keys() == {p.name for p in made}
    builder.build(tmp_path)
    assert len(compiled) == len(made)
    assert {p.name for p in tmp_path.iterdir()} == {builder.RECORD, *(p.name for p in made)}


def test_two_builds_at_once_write_under_names_of_their_own(builder, compiled, tmp_path):
    for _ in range(2):
        builder.build(tmp_path)
        (tmp_path / builder.RECORD).unlink()
    assert len(set(compiled)) == len(compiled)


def test_failed_build_leaves_the_old_one(builder, tmp_path, monkeypatch):
    name = builder.artefacts(*builder.this_computer())[0].name
    (tmp_path / name).write_text("old")
    failed = types.SimpleNamespace(returncode=1, stderr="no room")
    monkeypatch.setattr(builder.subprocess, "run", lambda *_, **__: failed)
    with pytest.raises(SystemExit, match="could not be built"):
        builder.build(tmp_path)
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [(name, "old")]
