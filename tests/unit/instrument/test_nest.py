"""Blanks on sheets: apart, inside, and all of them."""

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from modewright.errors import SheetError
from modewright.instrument.nest import nest
from modewright.instrument.sheet import BlankSheet

SIZE = st.floats(5e-3, 60e-3)


@st.composite
def shapes(draw):
    kind = draw(st.sampled_from(["box", "disc", "ell", "wedge"]))
    a, b = draw(SIZE), draw(SIZE)
    if kind == "box":
        return box(-a / 3, 0, 2 * a / 3, b)
    if kind == "disc":
        return Point(b, a).buffer(a / 2)
    if kind == "ell":
        return Polygon([(0, 0), (a, 0), (a, b / 3), (a / 3, b / 3), (a / 3, b), (0, b)])
    return Polygon([(0, 0), (a, 0), (0, b)])


SHEETS = st.builds(
    BlankSheet,
    length_m=st.floats(0.1, 0.4),
    width_m=st.floats(0.08, 0.2),
    margin_m=st.floats(0, 8e-3),
    spacing_m=st.floats(0, 5e-3),
    kerf_m=st.floats(0, 3e-4),
    turns=st.sampled_from(["none", "half turns", "quarter turns"]),
)


@settings(max_examples=40, deadline=None)
@given(outlines=st.lists(shapes(), min_size=1, max_size=14), sheet=SHEETS)
def test_blanks_lie_inside_and_keep_their_distance(outlines, sheet):
    placements = nest(outlines, sheet)
    laid = [place.placed(outline) for place, outline in zip(placements, outlines, strict=True)]
    rim = sheet.rim_m - 1e-8
    inside = box(rim, rim, sheet.length_m - rim, sheet.width_m - rim)
    for blank, outline in zip(laid, outlines, strict=True):
        assert inside.covers(blank)
        assert blank.area == pytest.approx(outline.area, rel=1e-9)
    for (i, first), (j, second) in itertools.combinations(enumerate(laid), 2):
        if placements[i].sheet == placements[j].sheet:
            assert first.distance(second) >= sheet.distance_m - 1e-8
            assert shapely.intersection(first, second).area < 1e-15
    assert {p.sheet for p in placements} == set(range(1 + max(p.sheet for p in placements)))


def test_equal_boxes_fill_a_sheet_without_waste():
    sheet = BlankSheet(length_m=0.104, width_m=0.054, margin_m=0.0, spacing_m=1e-3, kerf_m=0.0)
    placements = nest([box(0, 0, 0.02, 0.01)] * 25, sheet)
    assert {place.sheet for place in placements} == {0}


def test_steps_of_turned_blanks_meet():
    ell = Polygon([(0, 0), (60e-3, 0), (60e-3, 10e-3), (20e-3, 10e-3), (20e-3, 20e-3), (0, 20e-3)])
    sheet = BlankSheet(length_m=0.2, width_m=0.034, margin_m=0.0, spacing_m=1e-3, kerf_m=0.0)
    placements = nest([ell, ell], sheet)
    union = shapely.union_all([p.placed(ell) for p in placements])
    # Side by side their boxes would take 121 mm; turned, a long part lies in the other's step.
    assert union.bounds[2] < 90e-3


def test_rolling_direction_is_kept_unless_quarter_turns_are_allowed():
    blanks = [box(0, 0, 60e-3, 10e-3)] * 8
    sheet = BlankSheet(length_m=0.3, width_m=0.07)
    turns = {round(p.angle_rad / np.pi, 6) for p in nest(blanks, sheet)}
    assert turns <= {0.0, 1.0}


def test_a_blank_that_fits_nowhere():
    with pytest.raises(SheetError, match=r"290\.0 by 190\.0 mm.*300\.0 by 20\.0"):
        nest([box(0, 0, 0.3, 0.02)], BlankSheet(kerf_m=0.0))
