"""Clearances of outlines whose narrow places are known."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.geometry.blank import Outline
from modewright.geometry.clearances import ligament_m, narrowest_widths_m, smallest_inner_radius_m
from modewright.geometry.corners import rounded_polygon
from modewright.geometry.families.forked_reed import Arm, ForkedReed
from modewright.geometry.loop import Loop


def circle(x: float, y: float, radius: float) -> Loop:
    return Loop(vertices_m=np.array([[x - radius, y], [x + radius, y]]), bulge=np.ones(2))


@given(st.floats(3e-3, 9e-3), st.floats(3e-3, 9e-3), st.floats(3e-4, 2e-3))
def test_a_fork_is_as_narrow_as_its_arms_and_slot(first, second, slot):
    reed = ForkedReed(
        base_length_m=0.03,
        arms=(Arm(length_m=0.04, width_m=first), Arm(length_m=0.05, width_m=second)),
        slot_widths_m=(slot,),
        tip_radius_m=5e-4,
    )
    outline = reed.sketch(Path()).outline
    metal, gap = narrowest_widths_m(outline)
    assert metal == pytest.approx(min(first, second), rel=1e-6)
    assert gap == pytest.approx(slot, rel=1e-3)
    assert smallest_inner_radius_m(outline) == pytest.approx(slot / 2, rel=1e-9)


def test_holes_are_slots_and_leave_webs():
    plate = Loop.polygon([[0, 0], [0.05, 0], [0.05, 0.02], [0, 0.02]])
    outline = Outline(outer=plate, holes=(circle(0.01, 0.008, 0.003), circle(0.02, 0.008, 0.004)))
    metal, gap = narrowest_widths_m(outline)
    assert metal == pytest.approx(0.003, rel=1e-2)
    assert gap == pytest.approx(0.006, rel=1e-3)
    assert smallest_inner_radius_m(outline) == pytest.approx(0.003)


def test_a_convex_sheet_has_no_slot_and_no_inner_corner():
    outline = Outline(outer=Loop.polygon([[0, 0], [0.05, 0], [0.05, 0.02], [0, 0.02]]))
    assert narrowest_widths_m(outline) == (pytest.approx(0.02), math.inf)
    assert smallest_inner_radius_m(outline) == math.inf


@pytest.mark.parametrize("sense", [1, -1])
def test_a_sharp_inner_corner_has_no_radius_and_a_rounded_one_its_own(sense):
    corners = [(0, 0), (0.04, 0), (0.04, 0.01), (0.01, 0.01), (0.01, 0.03), (0, 0.03)]
    sharp = Outline(outer=Loop.polygon(corners[::sense]))
    assert smallest_inner_radius_m(sharp) == 0
    rounding = [0, 0, 0, 0.002, 0, 0]
    rounded = [(x, y, r) for (x, y), r in zip(corners, rounding, strict=True)]
    outline = Outline(outer=rounded_polygon(rounded[::sense]))
    assert smallest_inner_radius_m(outline) == pytest.approx(0.002)


def test_a_circular_hole_has_its_radius_whatever_its_sense():
    plate = Loop.polygon([[0, 0], [0.05, 0], [0.05, 0.02], [0, 0.02]])
    hole = circle(0.02, 0.01, 0.004)
    turned = Loop(vertices_m=hole.vertices_m[::-1], bulge=-hole.bulge)
    for loop in (hole, turned):
        outline = Outline(outer=plate, holes=(loop,))
        assert smallest_inner_radius_m(outline) == pytest.approx(0.004)
        assert narrowest_widths_m(outline)[1] == pytest.approx(0.008, rel=1e-3)


def test_metal_beside_holes():
    outer = Loop.polygon([(0, 0), (50e-3, 0), (50e-3, 10e-3), (0, 10e-3)])
    near_edge, near_each_other = circle(47e-3, 7.2e-3, 2.5e-3), circle(41.6e-3, 7.2e-3, 2.5e-3)
    assert ligament_m(Outline(outer=outer)) == math.inf
    assert ligament_m(Outline(outer=outer, holes=(near_edge,))) == pytest.approx(0.3e-3, abs=4e-6)
    both = Outline(outer=outer, holes=(circle(47e-3, 5e-3, 2.5e-3), near_each_other))
    apart_m = math.hypot(5.4e-3, 2.2e-3) - 5e-3
    assert ligament_m(both) == pytest.approx(min(0.3e-3, apart_m), abs=4e-6)
