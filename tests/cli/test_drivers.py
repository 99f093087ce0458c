"""``modewright drivers`` as a user meets it."""

import json

import numpy as np
import pytest

from modewright.design.driver_choice_settings import DriverChoiceSettings, files_seen_from
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
        "acoustic driver",
    }
    patches = load_driver_choices(example.parent / "patches.toml")
    assert {driver.kind for driver in patches.drivers} == {"piezo patch"}
    assert patches.amplifier.limit_v == 50.0


def test_design_names_the_files_and_the_mode(files, call):
    design, others = files
    with design.open("a") as text:
        text.write(f'[driver_choice]\nfiles = ["{others.name}"]\nmode = 2\nlevel = "20 um"\n')
    found = json.loads(call("drivers", design, "--accuracy", "draft", "--json").out)
    assert (found["mode"]["number"], found["mode"]["level_m"]) == (2, 20e-6)
    assert len(found["drivers"]) == 3
    other = json.loads(call("drivers", design, "--accuracy", "draft", "--mode", "1", "--json").out)
    assert other["mode"]["number"] == 1


def test_patch_stands_on_an_amplifier_of_its_own(files, call):
    design, others = files
    patch = (
        '[[drivers]]\nkind = "piezo patch"\nname = "patch"\nposition = ["12 mm", "0 mm"]\n'
        'length = "12 mm"\nwidth = "5 mm"\nthickness = "0.1 mm"\n'
    )
    words = ("drivers", design, "--accuracy", "draft", "--json")
    others.write_text(patch)
    (refused,) = json.loads(call(*words, "--with", others).out)["drivers"]
    assert "expected a voltage amplifier" in refused["reason"]
    others.write_text('[amplifier]\nkind = "voltage"\nlimit = "40 V"\n' + patch)
    (served,) = json.loads(call(*words, "--with", others).out)["drivers"]
    assert served["cents"] > 1
    assert served["base_n"] == 0


def test_tuned_design_elsewhere_finds_the_files_again(tmp_path):
    here, there = tmp_path / "bench", tmp_path / "out" / "deep"
    settings = DriverChoiceSettings(files=("drivers.toml", "/abs/others.toml"))
    assert files_seen_from(settings, here, here) == {}
    assert files_seen_from(None, here, there) == {}
    found = files_seen_from(settings, here, there)
    assert list(found) == ["driver_choice.files[1]"]
    assert (there / found["driver_choice.files[1]"]).resolve() == (here / "drivers.toml").resolve()
