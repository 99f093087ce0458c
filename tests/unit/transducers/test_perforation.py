"""Holes of a plate against the field of a cell, by finite elements, and Bethe's small hole."""

import math

import numpy as np
import pytest

from field_in_space import hole_cell
from modewright.transducers.gap import Gap
from modewright.transducers.perforation import Perforation, perforated


def cell_m(holes, gap_m):
    """C/ε0 of one cell."""
    faces = Gap(
        weight_m2=np.array([holes.pitch_m**2]),
        gap_m=np.array([gap_m]),
        opening=np.ones((1, 1)),
        per_m=1.0,
    )
    return perforated(faces, holes, np.array([True])).permeance


@pytest.mark.parametrize("gap", [0.5, 1.0, 3.0])
@pytest.mark.parametrize("cell_radius", [1.5, 2.0, 3.0])
def test_capacitance_of_a_cell(gap, cell_radius):
    holes = Perforation(pitch_m=cell_radius * 1e-3 * math.sqrt(math.pi), diameter_m=2e-3)
    exact = hole_cell(radius=1.0, cell_radius=cell_radius, gap=gap)
    assert cell_m(holes, gap * 1e-3) * 1e3 == pytest.approx(exact, rel=5e-3)


def test_small_hole_takes_two_thirds_of_its_cube():
    holes = Perforation(pitch_m=2e-3, diameter_m=0.1e-3)
    gap_m, radius_m = 2e-3, 0.05e-3
    lost = holes.pitch_m**2 / gap_m - cell_m(holes, gap_m)
    assert lost == pytest.approx(2 / 3 * radius_m**3 / gap_m**2, rel=0.02)


def test_holes_wider_than_their_pitch_are_a_fault():
    fault = next(iter(Perforation(pitch_m=1e-3, diameter_m=1.2e-3).problems()))
    assert fault.key == "diameter"
    assert "1.2 mm" in fault.got
