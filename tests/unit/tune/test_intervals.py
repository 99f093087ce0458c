"""Intervals as makers write them, against their ratios in whole numbers."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.tune.intervals import INTERVALS, IntervalError, parse_ratio, parse_ratios


@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("octave", 2),
        ("octave + fifth", 3),
        ("two octaves", 4),
        ("double octave + major third", 5),
        ("Twelfth", 3),
        ("fifth - fourth", Fraction(9, 8)),
        ("three octaves + major third", 10),
        ("3:2", Fraction(3, 2)),
        ("5/4", Fraction(5, 4)),
        ("2.756", 2.756),
        ("1200 cents", 2),
        ("octave + 0 cents", 2),
    ],
)
def test_pure_intervals_are_ratios_of_whole_numbers(text, ratio):
    assert parse_ratio(text) == pytest.approx(float(ratio), rel=1e-12)


@pytest.mark.parametrize(("name", "semitones"), [(n, s) for n, (_, s) in INTERVALS.items()])
def test_pure_and_tempered_intervals_differ_by_less_than_a_fifth_of_a_semitone(name, semitones):
    assert parse_ratio(f"tempered {name}") == pytest.approx(2 ** (semitones / 12), rel=1e-12)
    assert parse_ratio(name) == pytest.approx(parse_ratio(f"tempered {name}"), rel=0.011)


def test_chains_are_told_from_their_first_member():
    assert parse_ratios("1 : 4 : 10") == (1, 4, 10)
    assert parse_ratios("1:2.756:5.404") == pytest.approx((1, 2.756, 5.404))
    assert parse_ratios("unison : octave + fifth : 2 + octave") == pytest.approx((1, 3, 4))


@given(st.integers(1, 40), st.integers(1, 40))
def test_ratios_of_any_whole_numbers_read_back(upper, lower):
    assert parse_ratio(f"{upper} : {lower}") == pytest.approx(upper / lower)
    assert parse_ratio(f"{upper}/{lower}") == pytest.approx(upper / lower)


@pytest.mark.parametrize(
    "text",
    ["", "   ", "ocatve", "octave fifth", "octave +", "+", "0", "3 : 0", "-1", "octave ++ fifth",
     "1e400", "octave + ", "702 cent cents", "9" * 100, "99999999 cents", "two", "- octave -"],
)  # fmt: skip
def test_what_is_no_interval_is_refused_with_what_would_be(text):
    with pytest.raises(IntervalError, match="expected an interval such as"):
        parse_ratio(text)


def test_a_chain_needs_two_members():
    with pytest.raises(IntervalError, match='expected ratios such as "1 : 4 : 10", got "3"'):
        parse_ratios("3")
