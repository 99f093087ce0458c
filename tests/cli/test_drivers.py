"""``modewright drivers`` as a user meets it."""

import json

import numpy as np
import pytest

from modewright.design.driver_choices import load_driver_choices

DRIVERS = """
[[drivers]]
kind = "moving armature"
name = "glued"
position = ["20 mm", "0 mm"]
resonance = "1000 Hz"
moving_mass = "50 mg"

[[drivers]]
kind = "magnet and air coil"
name = "magnet"
position = ["50 mm", "0 mm"]

[[drivers]]
kind = "moving coil"
name = "wide"
position = ["50 mm", "0 mm"]
diameter = "14 mm"
"""


@pytest.fixture
def files(tmp_path, strip):
    with strip.open("a") as text:
        text.write('[electronics.amplifier]\nkind = "current"\n')
    others = tmp_path / "drivers.toml"
    others.write_text(DRIVERS)
    return strip, others


def test_each_driver_stands_alone(files, call):
    design, others = files
    words = ("drivers", design, "--with", others, "--accuracy", "draft", "--level", "20 um")
    found = json.loads(call(*words, "--json").out)
    glued, magnet, wide = found["drivers"]
    # 53 mg at 5/6 of a cantilever of 4.76 g: half its share of the mode's mass, by the first shape
    # (Blevins, Formulas for Natural Frequency and Mode Shape, 1979, table 8-1).
    sigma, z = 0.73409551, 1.87510407 * 5 / 6
    shape = np.cosh(z) - np.cos(z) - sigma * (np.sinh(z) - np.sin(z))
    share = 7500 * np.pi * 1.5e-3**2 * 1e-3 * shape**2 / 4.76e-3
    assert magnet["cents"] == pytest.approx(-600 * np.log2(1 + share), rel=0.03)
    assert magnet["q"] == pytest.approx(found["mode"]["q"], rel=0.05)
    assert glued["q_shorted"] < glued["q"]
    assert "beyond its edge" in wide["reason"]
    assert "drivers[" not in wide["reason"]
    shown = call(*words).out
    assert "wide (moving coil) cannot serve: wide: expected a footprint" in shown
    assert "what each driver does" in shown


def test_faults_are_told(files, call):
    design, others = files
    ended = call("drivers", design)
    assert ended.code == 2
    assert "drivers: expected at least one, got none" in ended.err
    others.write_text('[[drivers]]\nkind = "moving armour"\n')
    ended = call("drivers", design, "--with", others)
    assert ended.code == 2
    assert "drivers.toml:2" in ended.err
    for level, words in (("3 kg", "a quantity"), ("0 um", "more than 0 m")):
        ended = call("drivers", design, "--level", level)
        assert (ended.code, words in ended.err) == (2, True)


def test_unknown_mode_is_told(files, call):
    design, others = files
    ended = call("drivers", design, "--with", others, "--accuracy", "draft", "--mode", "99")
    assert ended.code == 2
    assert "mode: expected" in ended.err


def test_drivers_of_the_example_are_whole(example):
    choices = load_driver_choices(example.parent / "drivers.toml")
    assert {driver.kind for driver in choices.drivers} == {
        "moving coil",
        "moving armature",
        "magnet and air coil",
    }
