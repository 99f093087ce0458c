"""Studs and nodal supports: where they hold, and what they refuse."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from modewright.errors import GeometryError
from modewright.geometry.build import build_blank
from modewright.geometry.families.disc import Disc
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.polygon_plate import PolygonPlate
from modewright.geometry.measures import centroid_m, signed_area_m2
from modewright.geometry.support import CentralStud, NodalSupports

HERE = Path()
BAR = Plate(length_m=0.2, width_m=0.03)


def test_a_stud_holds_the_middle_of_any_outline() -> None:
    for family in (Disc(diameter_m=0.1), PolygonPlate(sides=5, inner_diameter_m=0.08), BAR):
        sketch = family.sketch(HERE)
        hold = CentralStud(diameter_m=0.01).hold(sketch)
        assert hold is not None
        (area,) = hold.areas
        middle = (0.1, 0.0) if family is BAR else (0.0, 0.0)
        assert centroid_m(area) == pytest.approx(middle, abs=1e-12)
        assert signed_area_m2(area) == pytest.approx(math.pi * 0.005**2, rel=1e-12)
        assert hold.stiffness_n_per_m3 is None


def test_a_stud_may_stand_elsewhere_and_give_way() -> None:
    stud = CentralStud(diameter_m=0.01, centre_m=(0.02, 0.01), stiffness_n_per_m3=1e12)
    blank = build_blank(Disc(diameter_m=0.1), (), stud, 1e-3, HERE)
    assert blank.hold is not None
    assert blank.hold.stiffness_n_per_m3 == 1e12
    assert centroid_m(blank.hold.areas[0]) == pytest.approx((0.02, 0.01))


def test_nodal_supports_lie_at_the_nodes_of_a_uniform_bar() -> None:
    # The node of cosh kx + cos kx - σ (sinh kx + sin kx) for the first root k of cos cosh = 1.
    k = 4.730040744862704
    sigma = (math.cosh(k) - math.cos(k)) / (math.sinh(k) - math.sin(k))
    x = np.linspace(0.2, 0.25, 200_001)
    shape = np.cosh(k * x) + np.cos(k * x) - sigma * (np.sinh(k * x) + np.sin(k * x))
    node = float(x[np.argmin(np.abs(shape))])
    blank = build_blank(BAR, (), NodalSupports(), 6e-3, HERE)
    assert blank.hold is None
    stations = [line[0][0] for line in blank.rests_m]
    assert stations == pytest.approx([0.2 * node, 0.2 * (1 - node)], rel=1e-5)
    assert blank.rests_m[0] == ((stations[0], -0.015), (stations[0], 0.015))


def test_pads_with_a_stiffness_hold_both_faces_by_halves() -> None:
    pads = NodalSupports(from_ends_m=0.04, stiffness_n_per_m3=1e8, pad_width_m=3e-3)
    blank = build_blank(BAR, (), pads, 6e-3, HERE)
    assert blank.hold is not None
    assert blank.hold.stiffness_n_per_m3 == 5e7
    lows = [loop.vertices_m[:, 0].min() for loop in blank.hold.areas]
    assert lows == pytest.approx([0.0385, 0.1585])


def test_supports_beyond_the_middle_are_refused() -> None:
    with pytest.raises(GeometryError, match=r"less than half the length, 100\.000 mm.*120\.000"):
        build_blank(BAR, (), NodalSupports(from_ends_m=0.12), 6e-3, HERE)
