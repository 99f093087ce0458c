"""Fringing of capacitors of two equal thin plates.

H. B. Palmer, The capacitance of a parallel-plate capacitor by the Schwarz-Christoffel
transformation, Trans. AIEE 56 (1937) 363 (formula from memory, evaluated by hand). E. R. Love, The
electrostatic field of two equal circular co-axial conducting disks, Quart. J. Mech. Appl. Math. 2
(1949) 428: round plates, exact (from memory; its integral equation solved below).
A. E. H. Love, Some electrostatic distributions in two dimensions, Proc. London Math. Soc. s2-22
(1924) 337: strips; the limit of narrow gaps (from memory).
"""

import numpy as np
import pytest
from shapely import Point, Polygon, box

from modewright.transducers.edge_field import EdgeSection, excess_per_m
from modewright.transducers.edge_walk import walk_rim
from modewright.transducers.fringe import rim_fringe


def _capacitance_m(outline: Polygon, gap_m: float, about_m: float) -> float:
    """C/ε0 of two equal thin plates."""
    stations = walk_rim(outline, outline, outline)
    fringe = rim_fringe(outline, stations, about_m, 0.0, None)
    return outline.area / gap_m + float(np.sum(fringe.weight_m2 / (gap_m + fringe.filled_m)))


def test_square_of_10_mm_at_a_tenth():
    # The product of two strips is about a per cent too high for a square.
    found = _capacitance_m(box(0, 0, 10e-3, 10e-3), 0.1e-3, 0.1e-3) * 0.1e-3 / 1e-4
    assert found == pytest.approx(1.04795, rel=5e-3)


def _love_m(radius_m: float, gap_m: float) -> float:
    """C/ε0 of two equal discs: f(x) - ∫ κ/(π(κ² + (x - y)²)) f(y) dy = 1 on (-1, 1)."""
    near = gap_m / radius_m
    node, weight = np.polynomial.legendre.leggauss(600)
    kernel = near / np.pi / (near**2 + (node[:, None] - node) ** 2)
    density = np.linalg.solve(np.eye(len(node)) - kernel * weight, np.ones(len(node)))
    return 2 * radius_m * float(weight @ density)


@pytest.mark.parametrize("gap_m", [0.1e-3, 0.25e-3, 0.5e-3, 1.5e-3])
def test_disc_and_its_change_with_the_gap(gap_m):
    radius_m = 5e-3
    disc = Point(0, 0).buffer(radius_m, quad_segs=64)
    gaps = gap_m * np.array([0.99, 1.0, 1.01])
    found = [_capacitance_m(disc, gap, gap_m) for gap in gaps]
    exact = [_love_m(radius_m, gap) for gap in gaps]
    assert found[1] == pytest.approx(exact[1], rel=5e-3)
    assert found[2] - found[0] == pytest.approx(exact[2] - exact[0], rel=5e-3)


@pytest.mark.parametrize("ratio", [100.0, 1000.0])
def test_edge_of_a_wide_strip(ratio):
    section = EdgeSection(gap_m=1e-3, plate_m=ratio / 2 * 1e-3, sheet_m=ratio / 2 * 1e-3)
    expected = (1 + np.log(2 * np.pi * ratio)) / (2 * np.pi)
    assert excess_per_m(section) == pytest.approx(expected, rel=3e-3)
