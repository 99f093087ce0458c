"""The verb ``firmware`` as a user meets it."""

import json
import os
import shutil
import subprocess

import pytest

from c_compiler import CORE_BUILDER
from modewright.firmware.replay import found_compiler


@pytest.fixture(scope="module", autouse=True)
def some_compiler(tmp_path_factory):
    """On a machine without a compiler, the one that builds the core stands in under its name."""
    if found_compiler() is not None:
        yield
        return
    folder = tmp_path_factory.mktemp("compiler")
    (folder / "cc").write_text(f'#!/bin/sh\nexec "{CORE_BUILDER[0]}" -m ziglang cc "$@"\n')
    (folder / "cc").chmod(0o755)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")
        yield


@pytest.fixture(scope="module")
def sources(example, tmp_path_factory):
    """Folder with the firmware of the example."""
    from click.testing import CliRunner

    from modewright.cli.main import modewright

    folder = tmp_path_factory.mktemp("firmware") / "g3"
    found = CliRunner().invoke(
        modewright, ["firmware", str(example), "-o", str(folder), "--accuracy", "draft", "--json"]
    )
    assert found.exit_code == 0, found.output
    return folder, json.loads(found.stdout)


def test_files_make_themselves(sources):
    folder, _ = sources
    make = shutil.which("make")
    assert make is not None
    made = subprocess.run([make], cwd=folder, check=True, capture_output=True, text=True)
    assert "samples equal, bit for bit" in made.stdout
    subprocess.run([make, "clean"], cwd=folder, check=True, capture_output=True)


def test_rounding_keeps_within_what_an_ear_can_tell(sources):
    _, told = sources
    for mode in told["modes"]:
        assert abs(mode["held_cents"]) < 0.1
        assert abs(mode["damped_cents"]) < 0.1
        assert abs(mode["damped_t60_share"]) < 0.01


def test_needs_are_told(sources):
    folder, told = sources
    assert told["replay"]["is_equal"]
    assert told["replay"]["working_bytes"] == told["memory"]["working_bytes"]
    assert [one["clock_hz"] for one in told["processors"]] == [
        one["cycles_per_sample"] * told["rate_hz"] for one in told["processors"]
    ]
    assert sorted(told["files"]) == sorted(path.name for path in folder.iterdir())
    assert told["design_hash"][:12] in (folder / "coefficients.h").read_text(encoding="utf-8")


def test_without_a_compiler_it_says_so(call, example, tmp_path, monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda _: None)
    ended = call("firmware", example, "-o", tmp_path / "out", "--accuracy", "draft")
    assert ended.code == 0
    assert "Not replayed: found no C compiler" in ended.out
    assert (tmp_path / "out" / "controller.c").exists()


def test_an_unstable_loop_is_not_written(call, unstable, tmp_path):
    ended = call("firmware", unstable, "-o", tmp_path / "out", "--accuracy", "draft")
    assert ended.code == 2
    assert "expected a loop that is stable in every state" in ended.err
    assert not (tmp_path / "out").exists()


def test_a_body_without_a_loop_is_told_what_to_add(call, strip, tmp_path):
    ended = call("firmware", strip, "-o", tmp_path / "out")
    assert ended.code == 2
    assert "[[drivers]]" in ended.err


def test_a_loop_that_treats_nothing(call, example, tmp_path):
    text = example.read_text(encoding="utf-8")
    start = text.index("[[loop.modes]]")
    end = text.index("\n[", text.rindex("[[loop.modes]]") + 1)
    design = tmp_path / "untreated.toml"
    design.write_text(text[:start] + text[end:], encoding="utf-8")
    ended = call("firmware", design, "--accuracy", "draft")
    assert ended.code == 2
    assert "expected a loop that treats a mode, got none" in ended.err


def test_a_file_in_the_way(call, example, tmp_path):
    (tmp_path / "taken").write_text("mine")
    ended = call("firmware", example, "-o", tmp_path / "taken")
    assert ended.code == 2
    assert (tmp_path / "taken").read_text() == "mine"
