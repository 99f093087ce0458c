"""Sizes that the metal worker reads, against those that the bodies were made of."""

import math
import pathlib
from dataclasses import replace

import numpy as np
import pytest

from crowded_blanks import CROWDED, fork
from modewright.fabrication.blank_drawing import draw_blank
from modewright.fabrication.contour_features import (
    arms_and_slots,
    radii,
    round_hole,
    stops,
    taper_mm,
)
from modewright.geometry.blank import Outline
from modewright.geometry.build import blank_from_sketch
from modewright.geometry.corners import rounded_polygon
from modewright.geometry.families.bar import Arch, Bar
from modewright.geometry.families.disc import Disc
from modewright.geometry.loop import Loop
from modewright.geometry.support import Free


def turned(loop, quarters):
    turn = np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), quarters)
    return Loop(vertices_m=loop.vertices_m @ turn, bulge=loop.bulge)


def words_of(name):
    return [note.text for note in CROWDED[name].notes]


def test_list_of_a_crowded_fork():
    words = words_of("full")
    # All places count from the lower left corner, y = -11 mm in the axes of the design.
    wanted = [
        "arm 1: length 36.500 from the slot, width 6.000, tip at x 63.000",
        "arm 2: length 43.800 from the slot, width 7.000, tip at x 70.300",
        "arm 3: length 31.500 from the slot, width 6.000, tip at x 58.000",
        "slot 1: width 1.500, root at x 26.500, middle at y 6.750",
        "slot 2: width 1.500, root at x 26.500, middle at y 15.250",
        "radius 0.500: 6 outer arcs",
        "radius 0.750: 2 inner arcs",
        "hole 1: Ø3.000, centre x 10.000, y 15.000",
        "hole 2: 7.000 × 2.000, round ends, centre x 10.000, y 6.000",
        "thinned 1: 0.600 left, 0.400 deep from the bottom, x 15.000 to 22.000, y -1.000 to 23.000",
        "mass 1: 0.2 g on a footprint Ø4.000 at x 65.300, y 11.000, top face",
        'pickup plate "left plate" (not cut): x 51.500 to 61.500, y 0.500 to 5.500',
        'driver "magnet" (not cut): Ø5.000, centre x 41.500, y 19.000',
        "reference point (tip): x 70.300, y 11.000",
        "layer OUTLINE: cut",
        "layer DRIVER_magnet: not cut: driver",
    ]
    assert [text for text in wanted if text not in words] == []


def test_list_of_a_tapered_strip():
    text = (
        "body: length 30.000, width 4.000 at x 0, 2.500 at the other end, before corners are "
        "rounded"
    )
    assert text in words_of("taper")


@pytest.mark.parametrize("quarters", range(4))
def test_arms_in_any_direction(quarters, tmp_path):
    outer = turned(fork().sketch(tmp_path).outline.outer, quarters)
    arms, slots = arms_and_slots(Outline(outer=outer))
    lengths = [abs(arm.tip_mm - arm.root_mm) for arm in arms]
    widths = [arm.width_mm[0] for arm in arms]
    # Numbered from low to high across, which a turn may reverse.
    if lengths[0] < lengths[-1]:
        lengths, widths = lengths[::-1], widths[::-1]
    assert lengths == pytest.approx([36.5, 43.8, 31.5], abs=1e-6)
    assert widths == pytest.approx([6, 7, 6], abs=1e-6)
    assert [slot.width_mm for slot in slots] == pytest.approx([1.5, 1.5], abs=1e-6)


def test_stops_are_edges_across_and_round_ends():
    # A stadium of 30 by 10 mm whose half circles are in two pieces each, and start anywhere.
    quarter = math.tan(math.pi / 8)
    vertices = [(25, -5), (30, 0), (25, 5), (5, 5), (0, 0), (5, -5)]
    bulge = [quarter, quarter, 0, quarter, quarter, 0]
    for start in range(6):
        loop = Loop(vertices_m=np.roll(vertices, start, axis=0) * 1e-3, bulge=np.roll(bulge, start))
        assert [place for place, _ in stops(loop, 0)] == pytest.approx([0, 30])
        assert [place for place, _ in stops(loop, 1)] == pytest.approx([-5, 5])
        assert [(r.radius_mm, r.count) for r in radii(Outline(outer=loop))] == [(5, 2)]


def test_inner_and_outer_radii_are_told_apart_whichever_way_the_contour_runs():
    corners = [(0, 0, 1e-3), (40e-3, 0, 1e-3), (40e-3, 10e-3, 1e-3), (20e-3, 10e-3, 2e-3),
               (20e-3, 30e-3, 1e-3), (0, 30e-3, 1e-3)]  # fmt: skip
    for ordered in (corners, corners[::-1]):
        found = radii(Outline(outer=rounded_polygon(ordered)))
        assert [(r.radius_mm, r.is_inner, r.count) for r in found] == [
            (1.0, False, 5), (2.0, True, 1),
        ]  # fmt: skip


def test_round_ends_may_lie_askew():
    cos, sin = math.cos(math.radians(30)), math.sin(math.radians(30))
    turn = np.array([[cos, sin], [-sin, cos]])
    vertices = np.array([(-3, -1), (3, -1), (3, 1), (-3, 1)]) @ turn + [10, 20]
    found = round_hole(Loop(vertices_m=vertices * 1e-3, bulge=np.array([0, 1, 0, 1])))
    assert found.centre_mm == pytest.approx((10, 20))
    assert (found.length_mm, found.width_mm) == pytest.approx((8, 2))
    assert found.angle_deg == pytest.approx(30)
    assert round_hole(Loop.polygon([(0, 0), (1e-3, 0), (0, 1e-3)])) is None


def test_a_waisted_body_has_no_taper():
    loop = Loop(
        vertices_m=np.array([(0, 0), (40, 0), (40, 10), (0, 10)]) * 1e-3,
        bulge=np.array([-0.1, 0, 0, 0]),
    )
    assert taper_mm(Outline(outer=loop), 0) is None


def test_depths_of_an_arch_and_lines_of_support():
    arch = Arch(depth_m=3e-3, length_m=80e-3, shape="parabola")
    bar = Bar(length_m=100e-3, width_m=20e-3, arches=(arch,), side="bottom")
    blank = blank_from_sketch(bar.sketch(pathlib.Path()), (), Free(), 6e-3)
    blank = replace(blank, rests_m=(((22e-3, -10e-3), (22e-3, 10e-3)),))
    words = " ".join(note.text for note in draw_blank(blank, title="t", facts=()).notes)
    assert "off the bottom, depth at x 0.000: 0.000; 5.000: 0.000; 10.000: 0.000" in words
    # A parabola of 3 mm over 80 mm: half way out, a quarter is lost.
    assert "30.000: 2.250;" in words
    assert "50.000: 3.000" in words
    assert "support line: from x 22.000, y 0.000 to x 22.000, y 20.000" in words


def test_a_leaning_arm_is_measured_across_itself():
    # Two arms of 5 mm width that lean by 8 degrees to either side.
    lean = math.radians(8)
    along, across = np.array([math.cos(lean), math.sin(lean)]), np.array([0, 5 / math.cos(lean)])
    root = np.array([20, 2])
    upper = [root, root + 40 * along, root + 40 * along + across, root + across]
    lower = [(x, -y) for x, y in upper[::-1]]
    corners = [(0, -10), *lower, *upper, (0, 10)]
    arms, slots = arms_and_slots(Outline(outer=Loop.polygon(np.array(corners) * 1e-3)))
    assert [arm.lean_deg for arm in arms] == pytest.approx([-8, 8], abs=1e-6)
    assert [w for arm in arms for w in arm.width_mm] == pytest.approx([5] * 4, abs=1e-6)
    assert [slot.width_mm for slot in slots] == [None]


def test_a_disc_has_a_diameter():
    disc = blank_from_sketch(Disc(diameter_m=60e-3).sketch(pathlib.Path()), (), Free(), 1e-3)
    words = [note.text for note in draw_blank(disc, title="t", facts=()).notes]
    assert "body: Ø60.000" in words
    assert not [text for text in words if text.startswith("radius")]
