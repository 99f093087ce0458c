"""Corners at which an outline turns inwards."""

import numpy as np
import pytest

from modewright.geometry.blank import Outline
from modewright.geometry.corners import slot
from modewright.geometry.loop import Loop
from modewright.geometry.notches import notches_m

SQUARE_RAD = np.pi / 2
ELL = [(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)]


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("start", [0, 3, 5])
def test_the_inner_corner_of_an_l_is_a_notch_in_either_sense(sense, start):
    outer = Loop.polygon(np.roll(np.array(ELL, dtype=float), start, axis=0)[::sense])
    found = notches_m(Outline(outer=outer), 0.9 * SQUARE_RAD)
    assert found == pytest.approx(np.array([[1.0, 1.0]]))
    assert len(notches_m(Outline(outer=outer), 1.1 * SQUARE_RAD)) == 0


@pytest.mark.parametrize("sense", [1, -1])
def test_all_corners_of_a_square_hole_are_notches(sense):
    hole = Loop.polygon(np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)[::sense])
    outer = Loop.polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
    assert len(notches_m(Outline(outer=outer, holes=(hole,)), 0.5 * SQUARE_RAD)) == 4


def test_round_ends_are_no_notches_and_an_arc_that_meets_a_line_square_is():
    outer = Loop.polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
    smooth = slot((0.0, 0.0), 4.0, 1.0, 0.3)
    assert len(notches_m(Outline(outer=outer, holes=(smooth,)), 0.01)) == 0
    # A half disc: its arc leaves the straight side at a right angle.
    half = Loop(vertices_m=np.array([(-1.0, 0.0), (1.0, 0.0)]), bulge=np.array([0.0, 1.0]))
    assert len(notches_m(Outline(outer=outer, holes=(half,)), 0.9 * SQUARE_RAD)) == 2
