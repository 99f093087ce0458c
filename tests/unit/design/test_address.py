"""Addresses of numbers: what is listed, what is replaced, what a slip is answered with."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.design.address import check_design, find_number, numbers_of, replaced
from modewright.design.load import load_design
from modewright.errors import DesignError

EXAMPLE = Path(__file__).parents[3] / "examples/boathouse_bench/g3.toml"
DESIGN = load_design(EXAMPLE).design
GIVEN = [address for address in numbers_of(DESIGN) if address.value is not None]


def test_every_kind_of_number_is_listed():
    texts = [address.text for address in numbers_of(DESIGN)]
    for text in (
        "stock.thickness",
        "resonator.arms[2].length",
        "resonator.slot_widths[1]",
        "pickups[1].plate.centre[2]",
        "drivers[1].armature.diameter",
        "material.youngs_modulus",
    ):
        assert text in texts
    assert len(set(texts)) == len(texts)


def test_values_are_si_and_units_those_of_the_file():
    found = find_number(DESIGN, "resonator.arms[2].length")
    assert found.value == pytest.approx(43.8e-3)
    assert found.shown(43.81e-3) == "43.81 mm"
    assert find_number(DESIGN, "material.youngs_modulus").value is None


@given(st.sampled_from(GIVEN), st.floats(1e-6, 1e3))
def test_replacing_changes_that_number_and_no_other(address, value):
    changed = replaced(DESIGN, address.text, value)
    before = {a.text: a.value for a in numbers_of(DESIGN)}
    after = {a.text: a.value for a in numbers_of(changed)}
    assert after == {**before, address.text: value}


def test_replacing_back_gives_the_same_design():
    changed = replaced(DESIGN, "stock.thickness", 2e-3)
    assert changed != DESIGN
    assert replaced(changed, "stock.thickness", 1e-3) == DESIGN


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("stock.thicknes", r'Did you mean "stock\.thickness"'),
        ("resonator.arms[1].lenght", r'Did you mean "resonator\.arms\[1\]\.length"'),
        ("resonator.arms[2]", r"one of its numbers: resonator\.arms\[2\]\.length"),
        ("resonator.arms[9].length", r'Did you mean "resonator\.arms\[\d\]\.length"'),
        ("resonator.arms[0].length", r"Did you mean"),
        ("resonator.qqqqqqqqqqqqqq", r"There are resonator\."),
        ("pickups[1].plate.centre", r"pickups\[1\]\.plate\.centre\[1\]"),
        ("", "Write keys with dots"),
        ("x" * 5000, "a number of the design"),
        ("../../etc", "Write keys with dots"),
    ],
)
def test_a_wrong_address_is_answered_with_what_there_is(text, answer):
    with pytest.raises(DesignError, match=answer):
        find_number(DESIGN, text)


@given(st.text(max_size=40))
def test_any_text_is_a_number_or_a_design_error(text):
    try:
        found = find_number(DESIGN, text)
    except DesignError:
        return
    assert found.text == text


def test_values_are_judged_as_the_reader_would():
    check_design(DESIGN)
    with pytest.raises(DesignError, match=r"stock\.thickness: expected more than 0"):
        check_design(replaced(DESIGN, "stock.thickness", -1e-3))
    with pytest.raises(DesignError, match=r"resonator\.tip_radius: expected at most half"):
        check_design(replaced(DESIGN, "resonator.tip_radius", 0.02))
