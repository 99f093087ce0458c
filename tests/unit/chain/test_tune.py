"""Inverse design of small bodies at draft accuracy, against the laws of beams."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from modewright.chain.mode_traces import recognise
from modewright.chain.places import place_design
from modewright.chain.tune import tune_design
from modewright.chain.tune_body import sample_body
from modewright.chain.tune_task import TuneTask
from modewright.design.free_dimensions import dimensions_of, position_of, with_position
from modewright.design.load import parse_design
from modewright.errors import DesignError, ModeProblemsError
from modewright.materials.choice import chosen_material
from modewright.modes.solid import solve_modes

STRIP = """
[material]
name = "stainless 301"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "8 mm"
[support]
kind = "clamped"
[tune]
accuracy = "draft"
modes = 6
solutions = 1
starts = 4
[[tune.free]]
path = "resonator.length"
lowest = "30 mm"
highest = "90 mm"
"""
PITCH = """
[[tune.targets]]
kind = "pitch"
mode = "bending 1"
freq = "{freq} Hz"
"""


def design_of(text: str):
    return parse_design(text.encode(), folder=Path()).design


def fresh_hz(design, count=6, accuracy="draft"):
    blank = place_design(design, Path()).blank
    solid = chosen_material(design.material).solid
    return solve_modes(blank, solid, count=count, accuracy=accuracy).freq_hz


def task_of(design):
    dimensions = dimensions_of(design, design.tune)
    return TuneTask(
        design=design,
        folder=Path(),
        settings=design.tune,
        dimensions=dimensions,
        progress=lambda _: None,
    )


@pytest.mark.parametrize("wanted_hz", [150.0, 300.0, 600.0])
def test_a_reed_is_cut_to_its_pitch(wanted_hz):
    found = tune_design(design_of(STRIP + PITCH.format(freq=wanted_hz)), Path())
    (solution,) = found.solutions
    tuned = solution.body.design
    assert abs(1200 * np.log2(fresh_hz(tuned)[0] / wanted_hz)) <= 1
    # Euler-Bernoulli, f = 1.8751²/(2π L²) sqrt(E h²/(12 ρ)), with E = 193 GPa and ρ = 7880 kg/m³; a
    # sheet is stiffer by up to 1/sqrt(1 - ν²), hence up to 2.4 % longer.
    beam_m = np.sqrt(1.8751**2 / (2 * np.pi * wanted_hz) * np.sqrt(193e9 * 1e-6 / (12 * 7880)))
    assert 0.995 < tuned.resonator.length_m / beam_m < 1.03


def test_a_narrow_range_is_told_as_what_stands_in_the_way():
    text = STRIP.replace('"30 mm"', '"50 mm"') + PITCH.format(freq=600.0)
    found = tune_design(design_of(text), Path())
    assert not found.solutions
    assert found.nearest.design.resonator.length_m == pytest.approx(0.05)
    (obstacle,) = found.verdict.obstacles
    assert obstacle.what == "resonator.length at its lowest, 50 mm"
    assert obstacle.then_cents < obstacle.now_cents
    # A cantilever's pitch goes with 1/L²: 5 mm shorter than 50 mm is 365 cents higher, and the miss
    # of 600 Hz at 50 mm is more than that, whatever the sheet's plate factor.
    assert not obstacle.is_met_then
    assert obstacle.now_cents == pytest.approx(-found.nearest.state.misses[0], rel=1e-6)
    assert [demand.what for demand in found.verdict.missed] == ["bending 1 at 600 Hz"]
    # A thicker reed is a higher one.
    helpful = {further.address: further for further in found.verdict.further}
    assert helpful["stock.thickness"].change.startswith("+0.1 mm")


def test_an_end_that_costs_little_is_named_and_not_blamed():
    # The pitch of a slender reed does not depend on its width, but for a plate's few cents.
    text = (
        STRIP.replace("resonator.length", "resonator.width")
        .replace('"30 mm"', '"6 mm"')
        .replace('"90 mm"', '"10 mm"')
    )
    found = tune_design(design_of(text + PITCH.format(freq=600.0)), Path())
    assert not found.verdict.obstacles
    (end,) = found.verdict.ends
    assert end.what in {
        "resonator.width at its highest, 10 mm",
        "resonator.width at its lowest, 6 mm",
    }
    assert 0 < end.now_cents - end.then_cents < 20


@pytest.mark.slow
def test_two_pitches_for_one_dimension_end_where_both_are_as_far_off():
    # Bending 2 lies 6.27 times above bending 1 in any slender reed.
    targets = PITCH.format(freq=300.0) + PITCH.format(freq=2000.0).replace("bending 1", "bending 2")
    found = tune_design(design_of(STRIP + targets), Path())
    assert not found.solutions
    first, second = found.nearest.state.misses
    apart = 1200 * np.log2(2000 / 300 / 6.267)
    assert first - second == pytest.approx(apart, abs=20)
    assert first + second == pytest.approx(0, abs=5)
    assert not found.verdict.obstacles


@pytest.mark.slow
def test_slopes_of_everything_are_those_of_differences():
    text = (
        STRIP
        + PITCH.format(freq=300.0)
        + """
[[tune.free]]
path = "stock.thickness"
lowest = "0.5 mm"
highest = "2 mm"
[[tune.targets]]
kind = "decay"
mode = "bending 1"
least = "1 s"
[tune.limits]
stock_length = "80 mm"
narrowest_metal = "2 mm"
"""
    )
    task = task_of(design_of(text))
    here = position_of(task.design, task.dimensions)
    sample = sample_body(task, here, "draft")
    for number, step in enumerate(np.eye(2) * 0.01):
        above, below = (sample_body(task, here + s * step, "draft") for s in (1, -1))
        for name, allowed in (("freq_cents", 0.01), ("decay_cents", 0.1), ("size_cents", 0.01)):
            differences = (
                getattr(above.quantities, name)[:3] - getattr(below.quantities, name)[:3]
            ) / 0.02
            slopes = getattr(sample.slopes, name)[:3, number]
            scale = max(np.abs(differences).max(), 100.0)
            assert slopes == pytest.approx(differences, abs=allowed * scale)


@pytest.mark.slow
def test_a_bias_moves_the_pitch_though_the_body_stays(example):
    text = (
        example.read_text("utf-8").partition("\n[tune]\n")[0]
        + """
[tune]
accuracy = "draft"
modes = 6
[[tune.free]]
path = "pickups[1].bias"
lowest = "20 V"
highest = "120 V"
"""
        + PITCH.format(freq=196.0).replace('"bending 1"', "1")
    )
    design = parse_design(text.encode(), folder=example.parent).design
    dimensions = dimensions_of(design, design.tune)
    task = TuneTask(
        design=design, folder=example.parent, settings=design.tune, dimensions=dimensions,
        progress=lambda _: None,
    )  # fmt: skip
    here = position_of(design, dimensions)
    sample = sample_body(task, here, "draft")
    # Electrostatic softening goes with the square of the bias (Senturia, Microsystem Design).
    above = sample_body(task, here + 0.05, "draft")
    by_hand = (above.quantities.freq_cents[0] - sample.quantities.freq_cents[0]) / 0.05
    assert by_hand < 0
    assert sample.slopes.freq_cents[0, 0] == pytest.approx(by_hand, rel=0.1)


def test_modes_are_recognised_where_their_order_has_changed():
    # Bending 2 of a wide, short reed lies above its first torsion, and below it when it is long.
    short = design_of(STRIP.replace('"8 mm"', '"20 mm"') + PITCH.format(freq=300.0))
    task = task_of(short)
    one, other = (sample_body(task, np.array([share]), "draft") for share in (0.15, 0.9))
    again = recognise(one.known_by, other.known_by)
    names = [(one.labels[i], other.labels[int(p)]) for i, p in enumerate(again.pairs[:3])]
    assert again.doubt(range(3)) == ""
    assert all(name == other_name for name, other_name in names)
    assert one.labels[:3] != other.labels[:3]


DISC = """
[material]
name = "stainless 301 half hard"
[stock]
thickness = "1 mm"
[resonator]
kind = "disc"
diameter = "90 mm"
[support]
kind = "free"
[tune]
accuracy = "draft"
modes = 16
solutions = 1
starts = 2
[[tune.free]]
path = "stock.thickness"
lowest = "0.7 mm"
highest = "1.4 mm"
[[tune.targets]]
kind = "pitch"
mode = "disc (2,1)"
freq = "4800 Hz"
"""


def test_a_mode_with_a_ring_of_rest_is_not_taken_for_one_without():
    # Along the rim, (2,0) and (2,1) move alike.
    (found,) = tune_design(design_of(DISC), Path()).solutions
    thickness_m = found.body.design.stock.thickness_m
    # Free disc, whose (2,1) has lambda² = 35.25 at nu = 0.33 (Leissa, Vibration of Plates, 1969,
    # from memory); a thick one's is a little less.
    solid = chosen_material(found.body.design.material).solid
    stiffness = solid.youngs_modulus_pa / (12 * (1 - solid.poisson_ratio**2))
    plate = stiffness / solid.density_kg_per_m3
    thin_m = 4800 * 2 * np.pi * 0.045**2 / 35.25 / np.sqrt(plate)
    assert thickness_m == pytest.approx(thin_m, rel=0.04)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"resonator.length"', '"resonator.lenght"', r'Did you mean "resonator.length"'),
        ('"resonator.length"', '"resonator"', "a number of the design"),
        ('lowest = "30 mm"', 'lowest = "30 Hz"', r"tune.free\[1\].lowest: expected a quantity"),
        ('lowest = "30 mm"', 'lowest = "95 mm"', r"tune.free\[1\].highest: expected more than"),
        (
            'highest = "90 mm"',
            'highest = "90 mm"\nalike = ["material.temperature"]',
            r"tune.free\[1\].alike\[1\]",
        ),
    ],
)
def test_free_dimensions_that_are_none_are_refused(old, new, message):
    with pytest.raises(DesignError, match=message):
        design_of(STRIP.replace(old, new) + PITCH.format(freq=300.0))


def test_a_mode_that_is_not_there_is_refused_with_those_that_are():
    text = STRIP + PITCH.format(freq=300.0).replace("bending 1", "bendnig 1")
    with pytest.raises(ModeProblemsError, match=r'tune.targets\[1\].mode: .*Did you mean "bending'):
        tune_design(design_of(text), Path())


@pytest.mark.slow
def test_a_search_goes_on_from_every_body_however_few_other_things_keep(monkeypatch, tmp_path):
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path))
    monkeypatch.setattr("modewright.cache._KEEP_AT_MOST", 1)
    design = design_of(STRIP + PITCH.format(freq=300.0))
    first = tune_design(design, Path())

    def solves_again(*_: object, **__: object):
        raise AssertionError

    monkeypatch.setattr("modewright.chain.tune_body.solve_body", solves_again)
    again = tune_design(design, Path())
    assert np.array_equal(again.solutions[0].body.position, first.solutions[0].body.position)


@pytest.mark.parametrize("words", ['"torsion", "torsoin"', '"torsion", "bending 2"'])
def test_modes_that_are_not_there_cannot_keep_away(words):
    text = STRIP + PITCH.format(freq=300.0).replace("bending 1", "bending 2")
    text += f'[[tune.targets]]\nkind = "keep away"\ndistance = "100 cents"\nunwanted = [{words}]\n'
    told = r'tune.targets\[2\].unwanted\[2\]: expected the beginning .*: .*torsion 1.*, got "'
    with pytest.raises(ModeProblemsError, match=told):
        tune_design(design_of(text), Path())


def test_a_design_without_wishes_is_told_what_to_add():
    text = STRIP[: STRIP.index("[tune]")]
    with pytest.raises(DesignError, match=r"\[\[tune.free\]\] with path, lowest and highest"):
        tune_design(design_of(text), Path())
    with pytest.raises(DesignError, match=r"tune.targets\[1\].note: expected a note or freq"):
        design_of(STRIP + PITCH.replace('freq = "{freq} Hz"', ""))


def test_values_that_go_together_are_set_together():
    text = STRIP.replace(
        'highest = "90 mm"', 'highest = "90 mm"\nalike = ["resonator.width"]'
    ) + PITCH.format(freq=300.0)
    design = design_of(text)
    moved = with_position(design, dimensions_of(design, design.tune), np.array([0.25]))
    assert moved.resonator.length_m == moved.resonator.width_m == pytest.approx(0.045)
