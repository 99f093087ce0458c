"""Discs, polygons, bells, fans, forks and stepped strips: areas by hand, named points, faults."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.errors import BodyError
from modewright.geometry.build import build_blank
from modewright.geometry.families.bar import Arch, Bar
from modewright.geometry.families.disc import Disc
from modewright.geometry.families.flat_bell import FlatBell
from modewright.geometry.families.polygon_plate import PolygonPlate
from modewright.geometry.families.reed_fan import FanReed, ReedFan
from modewright.geometry.families.stepped_strip import Step, SteppedStrip
from modewright.geometry.families.tuning_fork import TuningFork
from modewright.geometry.features.thinned_region import ThinnedRegion
from modewright.geometry.measures import bounding_box_m, outline_area_m2
from modewright.geometry.planar import contains, self_crossing_m
from modewright.geometry.support import Free
from modewright.parameters import SelfChecking

if TYPE_CHECKING:
    from modewright.geometry.sketch import Family

HERE = Path()
CORNER = 1 - math.pi / 4


def fan(**changes: object) -> ReedFan:
    fields: dict[str, object] = {
        "reeds": tuple(FanReed(length_m=length, width_m=6e-3) for length in (0.04, 0.05, 0.06)),
        "gaps_m": (2e-3,),
        "base_length_m": 0.01,
    }
    return ReedFan(**{**fields, **changes})  # pyright: ignore[reportArgumentType]


def fork(**changes: object) -> TuningFork:
    fields: dict[str, object] = {
        "prong_length_m": 0.09,
        "prong_width_m": 5e-3,
        "gap_m": 8e-3,
        "yoke_depth_m": 7e-3,
        "stem_length_m": 0.03,
        "stem_width_m": 6e-3,
    }
    return TuningFork(**{**fields, **changes})  # pyright: ignore[reportArgumentType]


def stepped(**changes: object) -> SteppedStrip:
    steps = tuple(
        Step(length_m=a, width_m=b) for a, b in ((0.03, 0.01), (0.02, 0.006), (0.025, 0.012))
    )
    return SteppedStrip(**{"steps": steps, **changes})  # pyright: ignore[reportArgumentType]


def bell(**changes: object) -> FlatBell:
    fields: dict[str, object] = {"height_m": 0.1, "crown_width_m": 0.04, "mouth_width_m": 0.09}
    return FlatBell(**{**fields, **changes})  # pyright: ignore[reportArgumentType]


EVERY: tuple[Family, ...] = (
    Bar(length_m=0.2, width_m=0.03, tip_width_m=0.02, arches=(Arch(depth_m=5e-3, length_m=0.1),)),
    Disc(diameter_m=0.1),
    Disc(diameter_m=0.1, hole_diameter_m=0.03),
    PolygonPlate(sides=3, inner_diameter_m=0.05),
    PolygonPlate(sides=5, inner_diameter_m=0.05, corner_radius_m=4e-3, hole_diameter_m=6e-3),
    PolygonPlate(sides=6, inner_diameter_m=0.05),
    bell(),
    bell(bow_m=0.01, hole_diameter_m=5e-3, flare_deg=50.0),
    fan(fillet_m=5e-4, tip_radius_m=1e-3),
    fan(splay_deg=8.0, fillet_m=5e-4),
    fork(yoke_radius_m=2e-3, stem_fillet_m=1e-3),
    stepped(fillet_m=1e-3, tip_radius_m=2e-3),
)


@pytest.mark.parametrize("family", EVERY, ids=lambda family: family.kind)
def test_named_points_lie_on_a_simple_outline(family: Family) -> None:
    sketch = family.sketch(HERE)
    assert self_crossing_m(sketch.outline.outer) is None
    places = np.array([named.point_m for named in sketch.named_points])
    assert contains(sketch.outline, places).all()
    names = [named.name for named in sketch.named_points]
    assert len(set(names)) == len(names)


def test_disc_with_a_hole() -> None:
    sketch = Disc(diameter_m=0.1, hole_diameter_m=0.03).sketch(HERE)
    assert outline_area_m2(sketch.outline) == pytest.approx(np.pi * (0.05**2 - 0.015**2), rel=1e-12)
    assert len(sketch.root_edges_m) == 0


@given(st.integers(3, 24), st.floats(0.01, 0.3), st.floats(0.0, 0.9))
def test_polygon_area(sides: int, inner_m: float, share: float) -> None:
    radius = share * inner_m / 2
    plate = PolygonPlate(sides=sides, inner_diameter_m=inner_m, corner_radius_m=radius)
    # A regular polygon round a circle of radius r has the area n r² tan(π/n); each rounding takes
    # what a polygon round its own circle has more than the circle.
    tangent = sides * math.tan(math.pi / sides)
    expected = tangent * (inner_m / 2) ** 2 - (tangent - math.pi) * radius**2
    sketch = plate.sketch(HERE)
    assert outline_area_m2(sketch.outline) == pytest.approx(expected, rel=1e-9)
    side = inner_m * math.tan(math.pi / sides) * (1 - share)
    assert np.ptp(sketch.root_edges_m[0, :, 1]) == pytest.approx(side, rel=1e-6)


def test_parallel_fan_is_a_sum_of_rectangles() -> None:
    sketch = fan(fillet_m=5e-4, tip_radius_m=1e-3).sketch(HERE)
    expected = 0.01 * 0.022 + 6e-3 * 0.15 + CORNER * (4 * 5e-4**2 - 6 * 1e-3**2)
    assert outline_area_m2(sketch.outline) == pytest.approx(expected, rel=1e-12)
    assert len(sketch.tip_edges_m) == 3
    assert sketch.named_points[0].point_m == pytest.approx((0.07, 8e-3))


def test_splayed_fan_keeps_the_sizes_of_its_reeds() -> None:
    sketch = fan(splay_deg=8.0).sketch(HERE)
    places = {named.name: np.array(named.point_m) for named in sketch.named_points}
    for number, length in enumerate((0.04, 0.05, 0.06), 1):
        way = places[f"reed {number} tip"] - places[f"reed {number} middle"]
        assert np.hypot(*way) == pytest.approx(length / 2, rel=1e-12)
        turn = math.degrees(math.atan2(way[1], way[0]))
        assert turn == pytest.approx(8.0 * (number - 2), abs=1e-9)
    low, _ = bounding_box_m(sketch.outline.outer)
    assert low[0] == pytest.approx(0.0, abs=1e-15)


@given(st.floats(0.0, 59.0), st.floats(1e-4, 0.02), st.integers(2, 8))
def test_no_fan_crosses_itself(splay_deg: float, gap_m: float, count: int) -> None:
    reeds = tuple(FanReed(length_m=0.02 * i, width_m=5e-3) for i in range(1, count + 1))
    made = fan(reeds=reeds, gaps_m=(gap_m,), splay_deg=min(splay_deg, 179.0 / (count - 1)))
    assert not list(made.problems())
    assert self_crossing_m(made.sketch(HERE).outline.outer) is None


def test_tuning_fork_area() -> None:
    sketch = fork(yoke_radius_m=2e-3, stem_fillet_m=1e-3).sketch(HERE)
    expected = 2 * 0.09 * 5e-3 + 0.018 * 7e-3 + 0.03 * 6e-3
    expected += (2 - math.pi / 2) * 4e-3**2 + CORNER * (2 * 1e-3**2 - 2 * 2e-3**2)
    assert outline_area_m2(sketch.outline) == pytest.approx(expected, rel=1e-12)
    assert len(sketch.tip_edges_m) == 2


def test_stepped_strip_area() -> None:
    sketch = stepped(fillet_m=1e-3, tip_radius_m=2e-3).sketch(HERE)
    expected = 0.03 * 0.01 + 0.02 * 0.006 + 0.025 * 0.012 + CORNER * (4 * 1e-3**2 - 2 * 2e-3**2)
    assert outline_area_m2(sketch.outline) == pytest.approx(expected, rel=1e-12)


def test_bell_area() -> None:
    # The integral of the flank by Hermite's form: mean of the ends, less a twelfth of the slope.
    plain = bell(flare_deg=35.0)
    mean = (0.04 + 0.09) / 2 - 2 * 0.1 * math.tan(math.radians(35.0)) / 12
    area = outline_area_m2(plain.sketch(HERE).outline)
    assert area == pytest.approx(0.1 * mean, rel=2e-6)
    # A bow of half the mouth adds a half disc.
    bowed = bell(flare_deg=35.0, bow_m=0.045).sketch(HERE)
    assert outline_area_m2(bowed.outline) - area == pytest.approx(math.pi * 0.045**2 / 2, rel=1e-9)


@pytest.mark.parametrize("share", [0.8, 1.0, 1.25])
def test_outlines_keep_their_number_of_pieces(share: float) -> None:
    """Derivatives compare bodies piece by piece."""
    plain, changed = bell(), bell(mouth_width_m=0.09 * share, flare_deg=35.0 * share)
    counts = {len(b.sketch(HERE).outline.outer.vertices_m) for b in (plain, changed)}
    assert len(counts) == 1


@pytest.mark.parametrize(
    ("family", "key", "words"),
    [
        (Disc(diameter_m=0.02, hole_diameter_m=0.02), "hole_diameter", "20 mm"),
        (PolygonPlate(sides=4, inner_diameter_m=0.02, corner_radius_m=0.01), "corner_radius", "10"),
        (PolygonPlate(sides=4, inner_diameter_m=0.02, hole_diameter_m=0.03), "hole_diameter", "20"),
        (bell(mouth_width_m=0.04), "mouth_width", "more than the crown, 40 mm"),
        (bell(bow_m=0.05), "bow", "45 mm"),
        (bell(hole_from_crown_m=0.01), "hole_diameter", "a diameter"),
        (fan(gaps_m=(1e-3, 1e-3, 1e-3)), "gaps", "one gap, or 2 for 3"),
        (fan(reeds=(FanReed(length_m=0.04, width_m=6e-3),)), "reeds", "two to 48"),
        (fan(fillet_m=1.1e-3), "fillet", "1 mm"),
        (fan(tip_radius_m=3.1e-3), "tip_radius", "3 mm"),
        (fan(splay_deg=90.0), "splay", "90 for each gap"),
        (fork(stem_width_m=0.018), "stem_width", "18 mm"),
        (fork(slot_fillet_m=4.1e-3), "slot_fillet", "4 mm"),
        (fork(yoke_radius_m=7e-3), "yoke_radius", "6 mm"),
        (fork(stem_fillet_m=7e-3), "stem_fillet", "6 mm"),
        (stepped(steps=(Step(length_m=0.03, width_m=0.01),)), "steps", "two or more"),
        (
            stepped(steps=(Step(length_m=0.03, width_m=0.01),) * 2),
            "steps[2].width",
            "another width or depth",
        ),
        (stepped(fillet_m=2.1e-3), "fillet", "2 mm, which fits at step 2"),
        (stepped(tip_radius_m=6.1e-3), "tip_radius", "6 mm"),
    ],
)
def test_fields_that_do_not_fit(family: Family, key: str, words: str) -> None:
    assert isinstance(family, SelfChecking)
    faults = {fault.key: fault for fault in family.problems()}
    assert words in faults[key].expected


def test_bar_faults() -> None:
    arch = Arch(depth_m=5e-3, length_m=0.1)
    cases = [
        (Bar(length_m=0.2, width_m=0.03, arches=(arch, arch)), "arches[1].centre", "a place"),
        (Bar(length_m=0.1, width_m=0.03, arches=(arch,)), "arches[1].length", "between the ends"),
        (
            Bar(
                length_m=0.4,
                width_m=0.03,
                arches=(replace(arch, centre_m=0.1), replace(arch, centre_m=0.19)),
            ),
            "arches[2].centre",
            "beyond 150 mm",
        ),
        (replace(arch, flat_m=0.1), "flat", "less than the arch, 100 mm"),
        (replace(arch, shape="given", profile=(1.0,)), "profile", "three or more"),
        (replace(arch, profile=(1.0, 1.0, 1.0)), "profile", "given"),
    ]
    for section, key, words in cases:
        faults = {fault.key: fault for fault in section.problems()}
        assert words in faults[key].expected


def test_arch_through_the_bar_is_refused() -> None:
    bar = Bar(length_m=0.2, width_m=0.03, arches=(Arch(depth_m=6e-3, length_m=0.1),))
    with pytest.raises(BodyError, match=r"0\.05 mm of metal.*0\.000 mm at x = 100\.000 mm"):
        build_blank(bar, (), Free(), 6e-3, HERE)
    region = ThinnedRegion(thickness_m=4e-3, from_x_m=0.0, to_x_m=0.01)
    with pytest.raises(BodyError, match="thickness varies"):
        build_blank(bar, (region,), Free(), 12e-3, HERE)


def test_steps_of_thickness_are_pockets_of_the_stock() -> None:
    steps = tuple(Step(length_m=0.04, width_m=0.01, depth_m=depth) for depth in (0.0, 1e-3, 5e-4))
    blank = build_blank(SteppedStrip(steps=steps), (), Free(), 3e-3, HERE)
    assert [pocket.thickness_m for pocket in blank.pockets] == pytest.approx([2e-3, 2.5e-3])
    assert len(blank.outline.outer.vertices_m) == 8
    with pytest.raises(BodyError, match=r"less depth than the sheet's 1 mm, got 1 mm"):
        build_blank(SteppedStrip(steps=steps), (), Free(), 1e-3, HERE)
