"""Guesses at what the writer meant."""

import math

import pytest

from modewright.design.findings import shown_value
from modewright.design.suggest import implausibility_factor, listed, near_miss, other_unit
from modewright.parameters import FieldSpec

THICKNESS = FieldSpec(kind="quantity", doc="", unit="m", show="mm", plausible=(1e-4, 1e-2))
MODULUS = FieldSpec(kind="quantity", doc="", unit="Pa", show="GPa", plausible=(10e9, 500e9))
BIAS = FieldSpec(kind="quantity", doc="", unit="V", show="V", plausible=(1.0, 500.0))
CAPACITANCE = FieldSpec(kind="quantity", doc="", unit="F", show="pF", plausible=(1e-13, 1e-9))


@pytest.mark.parametrize(
    ("written", "spec", "expected"),
    [
        ("1.2 m", THICKNESS, "1.2 mm"),
        ("1.2", THICKNESS, "1.2 mm"),
        ("500 mm", THICKNESS, "500 um"),
        ("2 ms", THICKNESS, "2 mm"),
        ("193 Pa", MODULUS, "193 GPa"),
        ("193000 GPa", MODULUS, "193000 MPa"),
        ("20 F", CAPACITANCE, "20 pF"),
        ("1e9 mm", THICKNESS, ""),
        ("3000 V", BIAS, ""),
        ("900 V", BIAS, ""),
        ("0.1 V", BIAS, "0.1 kV"),
        ("words", THICKNESS, ""),
    ],
)
def test_other_unit(written, spec, expected):
    assert other_unit(written, spec) == expected


def test_nobody_is_told_to_measure_in_megametres():
    assert (
        other_unit(
            "1e-9 mm",
            FieldSpec(kind="quantity", doc="", unit="m", show="mm", plausible=(1e-4, 4e-2)),
        )
        == ""
    )


def test_other_unit_needs_a_usual_range():
    assert other_unit("1 m", FieldSpec(kind="quantity", doc="", unit="m", show="mm")) == ""


@pytest.mark.parametrize(
    ("value", "usual", "factor"),
    [
        (5e-3, (1e-4, 1e-2), 1.0),
        (1.0, (1e-4, 1e-2), 100.0),
        (1e-6, (1e-4, 1e-2), 100.0),
        (-1e-3, (1e-4, 1e-2), math.inf),
        (-1e-4, (-1e-6, 1e-4), 100.0),
        (1.0, (-1.0, 0.0), math.inf),
    ],
)
def test_implausibility_factor(value, usual, factor):
    assert implausibility_factor(value, usual) == pytest.approx(factor)


def test_zero_is_a_doubt_and_not_a_slip_of_units():
    assert 1.0 < implausibility_factor(0.0, (1e-4, 1e-2)) < 2.0


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("thicknes", "thickness"),
        ("Thickness", "thickness"),
        ("arm lengths", "arm_lengths"),
        ("arm-length", "arm_lengths"),
        ("colour", ""),
        ("", ""),
        ("x" * 5000, ""),
    ],
)
def test_near_miss(word, expected):
    assert near_miss(word, ["thickness", "arm_lengths"]) == expected


def test_listed():
    assert listed([]) == "nothing"
    assert listed(["a"]) == '"a"'
    assert listed(["a", "b", "c"]) == '"a", "b" or "c"'


def test_shown_value_cannot_drive_a_terminal():
    assert "\x1b" not in shown_value("\x1b[2J")
    assert len(shown_value("x" * 10_000)) < 100
