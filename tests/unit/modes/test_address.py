"""A mode is found by its number or its label."""

import pytest

from modewright.modes.address import ModeAddressError, known_number, mode_number

LABELS = ("bending 1, in phase", "bending 1, arms 1-2", "torsion 1", "mode 4", "mode 4")


@pytest.mark.parametrize(
    ("address", "number"),
    [
        (1, 1),
        (5, 5),
        ("torsion 1", 3),
        ("  Torsion   1 ", 3),
        ("bending 1, arms 1\N{MINUS SIGN}2", 2),
    ],
)
def test_found(address, number):
    assert mode_number(address, LABELS) == number


@pytest.mark.parametrize("address", [0, 6, -1])
def test_number_out_of_range(address):
    with pytest.raises(ModeAddressError, match="a number from 1 to 5"):
        mode_number(address, LABELS)


def test_unknown_label_lists_all_and_suggests_the_nearest():
    with pytest.raises(ModeAddressError) as caught:
        mode_number("tortion 1", LABELS)
    assert all(f'"{label}"' in caught.value.expected for label in LABELS)
    assert caught.value.hint.startswith('Did you mean "torsion 1"')


def test_far_word_gets_no_suggestion_and_long_lists_are_cut():
    with pytest.raises(ModeAddressError) as caught:
        mode_number("x" * 500, [f"bending {i}" for i in range(40)])
    assert caught.value.hint == ""
    assert "and 24 more" in caught.value.expected


def test_label_that_two_modes_bear():
    with pytest.raises(ModeAddressError, match="4 and 5 bear it"):
        mode_number("mode 4", LABELS)


def test_label_not_looked_up_is_no_number():
    assert known_number(3) == 3
    with pytest.raises(TypeError, match="torsion 1"):
        known_number("torsion 1")
