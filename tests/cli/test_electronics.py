"""The verb ``electronics`` as a user meets it."""

import json

import pytest
from click.testing import CliRunner

from modewright.cli.main import modewright

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
