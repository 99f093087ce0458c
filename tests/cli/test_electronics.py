"""The verb ``electronics`` as a user meets it."""

import json

import pytest
from click.testing import CliRunner

from modewright.cli.main import modewright

UNTREATED = """
[[pickups]]
name = "ear"
[pickups.plate]
kind = "disc"
centre = ["50 mm", "0 mm"]
diameter = "6 mm"
[[drivers]]
kind = "moving coil"
position = ["40 mm", "0 mm"]
"""
ROOM = """
[surroundings]
electric_field = "10 V/m"
ripple = "5 mV"
"""


def run(*words):
    return CliRunner().invoke(modewright, ["electronics", *words, "--accuracy", "draft"])


def test_without_surroundings_nothing_is_promised(example):
    found = run(str(example))
    assert found.exit_code == 0
    assert "Noise 20 Hz to 20 kHz" in found.output
    assert "not judged: the design has no [surroundings]" in found.output


def test_surroundings_are_held_against_each_mode(example, tmp_path):
    design = tmp_path / "noisy.toml"
    design.write_text(example.read_text(encoding="utf-8") + ROOM, encoding="utf-8")
    found = run(str(design))
    assert found.exit_code == 0
    assert "electric field of the mains" in found.output
    assert "Not judged: magnetic feedthrough" in found.output
    data = json.loads(run(str(design), "--json").output)
    ripple = data["disturbances"]["steady"][1]
    assert ripple["freq_hz"] == 100.0
    assert len(ripple["level_db"]) == len(data["disturbances"]["modes"])


def test_a_hard_strike_leaves_the_range_for_a_while(example, tmp_path):
    design = tmp_path / "struck.toml"
    text = example.read_text(encoding="utf-8")
    design.write_text(text.replace('force = "0.2 N"', 'force = "5 N"'), encoding="utf-8")
    (soft,) = json.loads(run(str(example), "--json").output)["after_a_strike"]
    (hard,) = json.loads(run(str(design), "--json").output)["after_a_strike"]
    assert hard["largest_v"] / soft["largest_v"] == pytest.approx(25.0, rel=1e-6)
    assert hard["recovery_s"] > soft["recovery_s"]


def test_of_a_loop_that_treats_nothing_the_room_is_told_all_the_same(strip, call):
    text = strip.read_text(encoding="utf-8")
    strip.write_text(text + UNTREATED + ROOM, encoding="utf-8")
    ended = call("electronics", strip, "--accuracy", "draft")
    assert (ended.code, ended.err) == (0, "")
    assert "ripple of the bias" in ended.out
    assert "Feedthrough" not in ended.out
    assert "mode 1" in ended.out


def test_without_a_driver_it_says_what_to_add(strip, call):
    ended = call("electronics", strip)
    assert ended.code == 2
    assert "[[drivers]]" in ended.err


def test_an_unstable_loop_is_no_reason_to_fail(unstable, call):
    assert call("electronics", unstable, "--accuracy", "draft").code == 0
