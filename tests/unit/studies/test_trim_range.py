"""How far a number can be trimmed."""

import pathlib

import pytest

from modewright.design.load import parse_design
from modewright.studies.inputs import trim_move
from modewright.studies.trim_range import trim_range

STRIP = b"""
[material]
name = "stainless 301"
[stock]
thickness = "1 mm"
[resonator]
kind = "strip reed"
length = "60 mm"
width = "10 mm"
[[features]]
kind = "slotted hole"
centre = ["30 mm", "0 mm"]
length = "5 mm"
width = "4.8 mm"
angle = "350 deg"
[support]
kind = "clamped"
"""


@pytest.mark.parametrize(
    ("path", "down", "up"),
    [
        ("resonator.width", -100.0, 100.0),
        # Not shorter than wide: 4.8 mm of 5 mm is a change by -4 %.
        ("features[1].length", -40.0, 100.0),
        ("features[1].width", -100.0, 1000 * (5.0 / 4.8 - 1)),
        # The angle ends at 360 deg.
        ("features[1].angle", -100.0, 1000 * (360.0 / 350.0 - 1)),
    ],
)
def test_a_number_is_trimmed_as_far_as_the_design_allows(path, down, up):
    here = pathlib.Path()
    design = parse_design(STRIP, folder=here).design
    found = trim_range(design, here, trim_move(design, path), 100.0)
    assert found == pytest.approx((down, up), abs=100 / 2**12)
    assert down <= found[0] <= 0 <= found[1] <= up


def test_a_slot_is_trimmed_no_wider_than_the_body():
    here = pathlib.Path()
    long = STRIP.replace(b'"5 mm"', b'"9.8 mm"').replace(b'"350 deg"', b'"90 deg"')
    design = parse_design(long, folder=here).design
    down, up = trim_range(design, here, trim_move(design, "features[1].length"), 100.0)
    assert down == -100.0
    assert 0 <= up <= 1000 * (10.0 / 9.8 - 1)
