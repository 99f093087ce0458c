"""Plates under faces that are not level: arches, pockets, rods."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from modewright.errors import TransducerError
from modewright.geometry.build import build_blank
from modewright.geometry.families.bar import Arch, Bar
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.rod import Rod, RodStretch
from modewright.geometry.features.thinned_region import ThinnedRegion
from modewright.geometry.support import Clamped, Free
from modewright.modes.solid import solve_modes
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.gap import EPSILON_0
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.underside import underside_of
from sheet_blanks import STEEL

HERE = Path()


def gap_of(blank, x_m, length_m=4e-3, gap_m=0.5e-3):
    modes = solve_modes(blank, STEEL, count=2, accuracy="draft")
    plate = RectanglePlate(centre_m=(x_m, 0.0), length_m=length_m, width_m=4e-3)
    pickup = CapacitivePickup(plate=plate, gap_m=gap_m)
    return pickup_gap(pickup, modes.shapes, underside_of(blank)).gap.facing


def test_on_the_flank_of_an_arch_the_gap_follows_the_face() -> None:
    arch = Arch(depth_m=4e-3, length_m=0.08, shape="parabola")
    bar = Bar(length_m=0.2, width_m=0.02, arches=(arch,))
    blank = build_blank(bar, (), Free(), 0.01, HERE)
    x = 0.12
    gap = gap_of(blank, x)
    # Depth 4 mm (1 - (2 s/80 mm)²) at a distance s from the middle, over that at s = 20 mm.
    low = 4e-3 * (1 - ((x + 2e-3 - 0.1) / 0.04) ** 2) - 3e-3
    high = 4e-3 * (1 - ((x - 2e-3 - 0.1) / 0.04) ** 2) - 3e-3
    assert low < gap.gap_m.min() - 0.5e-3 < low + 5e-5
    assert high - 5e-5 < gap.gap_m.max() - 0.5e-3 < high
    # ∫ dA/g of the face, by a fine sum.
    places = np.linspace(x - 2e-3, x + 2e-3, 20001)
    width = 0.5e-3 + 4e-3 * (1 - ((places - 0.1) / 0.04) ** 2) - 3e-3
    expected = EPSILON_0 * 4e-3 * np.trapezoid(1 / width, places)
    assert gap.permeance == pytest.approx(expected, rel=1e-3)


def test_the_undercut_face_may_look_up() -> None:
    arch = Arch(depth_m=4e-3, length_m=0.08)
    bar = Bar(length_m=0.2, width_m=0.02, arches=(arch,), side="top")
    gap = gap_of(build_blank(bar, (), Free(), 0.01, HERE), 0.12)
    assert gap.gap_m == pytest.approx(0.5e-3)


def test_a_plate_that_would_stand_in_the_metal_is_refused() -> None:
    arch = Arch(depth_m=4e-3, length_m=0.08, shape="parabola")
    bar = Bar(length_m=0.2, width_m=0.02, arches=(arch,))
    with pytest.raises(TransducerError, match="inside it"):
        gap_of(build_blank(bar, (), Free(), 0.01, HERE), 0.12, length_m=0.03)


def test_over_a_pocket_from_below_and_a_step_of_it() -> None:
    pocket = ThinnedRegion(thickness_m=0.7e-3, from_x_m=0.05, to_x_m=0.08, side="bottom")
    blank = build_blank(Plate(length_m=0.1, width_m=0.01), (pocket,), Clamped(), 1e-3, HERE)
    # Wholly under the pocket nothing changes; half under it the other half is nearer.
    assert gap_of(blank, 0.06).gap_m == pytest.approx(0.5e-3)
    half = gap_of(blank, 0.0505)
    assert half.gap_m.min() == pytest.approx(0.2e-3)


def test_under_a_rod_the_gap_opens_to_both_sides() -> None:
    rod = Rod(stretches=(RodStretch(length_m=0.06, diameter_m=8e-3),))
    gap = gap_of(build_blank(rod, (), Clamped(), 1e-3, HERE), 0.05)
    assert gap.gap_m.min() == pytest.approx(0.5e-3, abs=2e-5)
    edge = 4e-3 - np.sqrt(4e-3**2 - 2e-3**2)
    assert 0.5e-3 + 0.8 * edge < gap.gap_m.max() < 0.5e-3 + edge


def test_thickness_under_a_pole_leaves_out_what_is_thinned() -> None:
    top = ThinnedRegion(thickness_m=0.6e-3, from_x_m=0.01, to_x_m=0.03, side="top")
    blank = build_blank(Plate(length_m=0.06, width_m=0.02), (top,), Clamped(), 1e-3, HERE)
    places = np.array([[0.02, 0.0], [0.04, 0.0]])
    assert underside_of(blank).thickness_m(places) == pytest.approx([0.6e-3, 1e-3])
