"""Notes of a compass and what a base does to them, against the laws of beams."""

import numpy as np
import pytest

from modewright.chain.compass import retune_compass, tune_compass
from modewright.chain.instrument import make_instrument
from modewright.design.instrument_plan import load_plan

THICK_M, WIDTH_M, BASE_KG = 1e-3, 10e-3, 0.05

FAMILY = """
[design]
name = "Strip"
[material]
name = "stainless 301 half hard"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "10 mm"
[support]
kind = "clamped"
"""

PLAN = """
[instrument]
name = "Strips"
[family]
file = "strip.toml"
[scale]
freq = "240 Hz"
[compass]
notes = {notes}
on_base = {on_base}
[tune]
accuracy = "draft"
modes = 3
starts = 1
[[tune.free]]
path = "resonator.length"
lowest = "30 mm"
highest = "90 mm"
[[tune.targets]]
kind = "pitch"
mode = 1
within = "0.5 cents"
[base]
kind = "rigid block"
mass = "0.05 kg"
length = "4 m"
width = "2.5 m"
feet_freq = "2 Hz"
feet_q = "500"
"""


def loaded_plan(folder, notes, on_base="false"):
    (folder / "strip.toml").write_text(FAMILY, "utf-8")
    file = folder / "plan.toml"
    file.write_text(PLAN.format(notes=notes, on_base=on_base), "utf-8")
    return load_plan(file)


def freq_hz(note):
    return float(note.body.sample.freq_hz[note.place])


def length_m(note):
    return note.design.resonator.length_m


def base_cents(together):
    """One mode on a mass that only rises: ω² grows by 1/(1 - P²/(M + m)).

    Of a uniform cantilever P² = (2 σ/β)² m = 0.6131 m (Blevins, Formulas for Natural Frequency and
    Mode Shape, from memory: β = 1.8751, σ = 0.7341).
    """
    mass = together.budget.bodies_kg
    return -600 * np.log2(1 - 0.6131 * mass / (BASE_KG + mass))


def test_steps_of_equal_temperament_and_lengths_of_beams(tmp_path):
    loaded = loaded_plan(tmp_path, '["1", "5", "13"]')
    notes = tune_compass(loaded.plan, loaded.family.design, tmp_path).notes
    assert all(note.is_met for note in notes)
    for note, semitones in zip(notes, (0, 4, 12), strict=True):
        assert 1200 * np.log2(freq_hz(note) / 240) == pytest.approx(100 * semitones, abs=0.5)
        assert note.miss_cents == pytest.approx(
            1200 * np.log2(freq_hz(note) / 240) - 100 * semitones
        )
        # A beam: f ~ 1/L²; the sheet's clamp is a little stiffer than a beam's the shorter it is.
        expected_m = length_m(notes[0]) * 2 ** (-semitones / 24)
        assert length_m(note) == pytest.approx(expected_m, rel=3e-3)


def test_what_the_base_adds_is_left_for_it(tmp_path):
    loaded = loaded_plan(tmp_path, '["1"]')
    compass = tune_compass(loaded.plan, loaded.family.design, tmp_path)
    (again,) = retune_compass(loaded.plan, compass, np.array([20.0]), tmp_path).notes
    assert 1200 * np.log2(freq_hz(again) / 240) == pytest.approx(-20.0, abs=0.5)
    assert again.miss_cents == pytest.approx(1200 * np.log2(freq_hz(again) / 240) + 20.0)


def test_a_light_base_raises_a_note_by_the_closed_form(tmp_path):
    loaded = loaded_plan(tmp_path, '["1"]')
    made = make_instrument(loaded.plan, loaded.family.design, tmp_path)
    (note,) = made.compass.notes
    expected = base_cents(made.together)
    assert expected > 40.0
    assert made.together.base_cents[0] == pytest.approx(expected, rel=0.02)
    assert made.tuned_for_cents is None
    assert freq_hz(note) == pytest.approx(240.0, rel=3e-4)


@pytest.mark.slow
def test_a_note_is_tuned_against_a_light_base(tmp_path):
    loaded = loaded_plan(tmp_path, '["1"]', on_base="true")
    made = make_instrument(loaded.plan, loaded.family.design, tmp_path)
    (note,) = made.compass.notes
    assert made.has_settled.all()
    on_base_hz = freq_hz(note) * 2 ** (base_cents(made.together) / 1200)
    # The closed form itself is good for a cent here.
    assert 1200 * np.log2(on_base_hz / 240) == pytest.approx(0.0, abs=1.5)
