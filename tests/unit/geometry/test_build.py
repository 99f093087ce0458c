"""Blanks from sections: parts by hand calculation, and faults with their coordinates."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from modewright.errors import GeometryError
from modewright.geometry.blank import NamedPoint
from modewright.geometry.build import blank_from_sketch, build_blank
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.strip_reed import StripReed
from modewright.geometry.features.holes import RoundHole, SlottedHole
from modewright.geometry.features.registry import FEATURES
from modewright.geometry.features.thinned_region import ThinnedRegion
from modewright.geometry.features.tip_mass import TipMass
from modewright.geometry.measures import outline_area_m2, signed_area_m2
from modewright.geometry.planar import loop_polygon, outline_polygon
from modewright.geometry.support import SUPPORTS, Clamped, ElasticClamp, Free, Support

if TYPE_CHECKING:
    from modewright.geometry.blank import Blank
    from modewright.geometry.features.parts import Feature

REED = StripReed(length_m=0.08, width_m=0.012)


def built(*features: Feature, support: Support | None = None, thickness_m: float = 1e-3) -> Blank:
    return build_blank(REED, features, support or Clamped(), thickness_m, Path())


def test_kinds_are_told_apart() -> None:
    for sections in (FEATURES, SUPPORTS):
        kinds = [section.kind for section in sections]
        assert len(set(kinds)) == len(kinds)


def test_holes_take_their_area() -> None:
    blank = built(
        RoundHole(centre_m=(0.02, 0.0), diameter_m=4e-3),
        SlottedHole(centre_m=(0.05, 0.0), length_m=0.02, width_m=2e-3, angle_deg=5.0),
    )
    taken = np.pi * 2e-3**2 + 0.018 * 2e-3 + np.pi * 1e-3**2
    assert outline_area_m2(blank.outline) == pytest.approx(0.08 * 0.012 - taken, rel=1e-12)


def test_tip_mass_has_the_inertia_of_a_cylinder() -> None:
    (mass,) = built(
        TipMass(
            diameter_m=6e-3, height_m=4e-3, density_kg_per_m3=8000.0, offset_m=(-4e-3, 1e-3),
            side="bottom",
        )
    ).masses  # fmt: skip
    kilograms = 8000.0 * np.pi * 3e-3**2 * 4e-3
    assert mass.mass_kg == pytest.approx(kilograms)
    assert mass.centre_m == pytest.approx((0.076, 1e-3))
    assert mass.height_m == pytest.approx(2e-3)
    # Integrals of y² + z² and x² + y² over the cylinder by quadrature, not by formula.
    nodes, weights = np.polynomial.legendre.leggauss(8)
    r, w_r = 1.5e-3 * (nodes + 1), 1.5e-3 * weights
    z, w_z = 2e-3 * nodes, 2e-3 * weights
    axial = 8000.0 * 2 * np.pi * (w_r @ r**3) * 4e-3
    across = axial / 2 + 8000.0 * np.pi * 3e-3**2 * (w_z @ z**2)
    assert mass.inertia_kg_m2 == pytest.approx((across, across, axial))


def test_thinned_band_spans_the_sheet() -> None:
    blank = built(ThinnedRegion(thickness_m=6e-4, from_x_m=0.0, to_x_m=0.01))
    cut = loop_polygon(blank.pockets[0].loop).intersection(outline_polygon(blank.outline))
    assert cut.area == pytest.approx(0.01 * 0.012)


def test_supports() -> None:
    assert built(support=Free()).hold is None
    hold = built(support=Clamped()).hold
    assert hold is not None
    assert hold.stiffness_n_per_m3 is None
    assert np.all(hold.edges_m[:, :, 0] == 0)
    hold = built(support=Clamped(edges="both ends")).hold
    assert hold is not None
    assert np.unique(hold.edges_m[:, :, 0]).tolist() == [0.0, 0.08]
    hold = built(support=ElasticClamp(stiffness_n_per_m3=1e12, jaw_depth_m=0.01)).hold
    assert hold is not None
    assert hold.stiffness_n_per_m3 == 1e12
    assert len(hold.edges_m) == 0
    body = outline_polygon(built().outline)
    assert loop_polygon(hold.areas[0]).intersection(body).area == pytest.approx(0.01 * 0.012)


@pytest.mark.parametrize(
    ("features", "words"),
    [
        (
            [RoundHole(centre_m=(0.1, 0.0), diameter_m=4e-3)],
            r"hole 1: .* off it at \(100\.000, 0\.000\) mm. The sheet spans x 0 to 80 mm",
        ),
        (
            [RoundHole(centre_m=(0.04, 0.005), diameter_m=4e-3)],
            r"hole 1: .*outline, got a crossing at \(\d+\.\d+, 6\.000\) mm",
        ),
        (
            [RoundHole(centre_m=(0.04, 0.00397), diameter_m=4e-3)],
            r"at least 0.05 mm of metal.*got 0\.029\d mm at \(40\.000, 5\.97\d\) mm",
        ),
        (
            [RoundHole(centre_m=(0.04, 0.0), diameter_m=d) for d in (6e-3, 2e-3)],
            r"hole 2: .*one inside the other at \(40\.000, 0\.000\) mm",
        ),
        ([TipMass(diameter_m=4e-3, mass_kg=1e-3)], r"49\.\d % beyond.*fits is \(78\.000, 0\.000\)"),
        (
            [TipMass(diameter_m=4e-3, mass_kg=1e-3, centre_m=(0.04, y)) for y in (0.0, 1e-3)],
            r"tip mass 2: .*overlap with tip mass 1 at \(40\.000, 0\.500\) mm",
        ),
        ([TipMass(diameter_m=0.02, mass_kg=1e-3)], "wider than the sheet everywhere"),
        (
            [ThinnedRegion(thickness_m=1e-3, from_x_m=0.0, to_x_m=0.01)],
            "less than the sheet's 1 mm to remain, got 1 mm",
        ),
        (
            [ThinnedRegion(thickness_m=5e-4, from_x_m=0.2, to_x_m=0.21)],
            r"thinned region 1: .*off it at \(205\.000, 0\.000\) mm",
        ),
        (
            [ThinnedRegion(thickness_m=5e-4, from_x_m=x, to_x_m=x + 0.01) for x in (0.0, 5e-3)],
            r"thinned region 2: expected no overlap with thinned region 1",
        ),
        (
            [
                ThinnedRegion(
                    thickness_m=5e-4, corners_m=((0, 0), (0.01, 0.01), (0.01, 0), (0, 0.01))
                )
            ],
            r"thinned region 1: .*crossing at \(5\.000, 5\.000\) mm",
        ),
    ],
)
def test_faults_name_the_place(features: list[Feature], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        built(*features)


def test_all_faults_at_once() -> None:
    with pytest.raises(GeometryError, match="2 faults") as caught:
        built(
            TipMass(diameter_m=4e-3, mass_kg=1e-3),
            ThinnedRegion(thickness_m=2e-3, from_x_m=0.0, to_x_m=0.01),
        )
    assert "tip mass 1" in str(caught.value)
    assert "thinned region 1" in str(caught.value)


def test_area_off_the_sheet_cannot_hold_it() -> None:
    area = ((0.2, 0.0), (0.21, 0.0), (0.21, 0.01))
    with pytest.raises(GeometryError, match=r"held area: .*\(206\.667, 3\.333\) mm"):
        built(support=Clamped(area_m=area))


def test_nothing_of_the_sheet_left_free() -> None:
    with pytest.raises(GeometryError, match="all of it between jaws"):
        built(support=Clamped(jaw_depth_m=0.08))


def test_hole_does_not_disturb_a_plate_free_at_its_edges() -> None:
    plate = Plate(length_m=0.1, width_m=0.1)
    hole = RoundHole(centre_m=(0.05, 0.0), diameter_m=0.05)
    blank = build_blank(plate, [hole], Free(), 1e-3, Path())
    assert signed_area_m2(blank.outline.holes[0]) == pytest.approx(np.pi * 0.025**2)


@pytest.mark.parametrize(
    ("section", "key"),
    [
        (TipMass(diameter_m=4e-3), "mass"),
        (TipMass(diameter_m=4e-3, mass_kg=1e-3, density_kg_per_m3=8e3, height_m=1e-3), "density"),
        (TipMass(diameter_m=4e-3, density_kg_per_m3=8e3), "height"),
        (ThinnedRegion(thickness_m=5e-4), "from_x"),
        (ThinnedRegion(thickness_m=5e-4, from_x_m=0.02, to_x_m=0.01), "to_x"),
        (ThinnedRegion(thickness_m=5e-4, corners_m=((0, 0), (1, 0))), "corners"),
        (SlottedHole(centre_m=(0.0, 0.0), length_m=1e-3, width_m=2e-3), "length"),
        (Clamped(jaw_depth_m=0.01, area_m=((0, 0), (1, 0), (0, 1))), "area"),
    ],
)
def test_fields_that_do_not_fit(
    section: TipMass | ThinnedRegion | SlottedHole | Clamped, key: str
) -> None:
    (fault,) = section.problems()
    assert fault.key == key


def test_points_that_a_hole_cuts_away_lose_their_name() -> None:
    names = [p.name for p in built(RoundHole(centre_m=(0.04, 0.0), diameter_m=4e-3)).named_points]
    assert names == ["tip", "root"]


def test_the_reference_point_cannot_be_cut_away() -> None:
    sketch = REED.sketch(Path())
    hole = RoundHole(centre_m=(0.04, 0.0), diameter_m=4e-3)
    middle_first = (sketch.named_points[1], sketch.named_points[0])
    with pytest.raises(GeometryError, match=r'"middle": .*got a hole at \(40\.000, 0\.000\) mm'):
        blank_from_sketch(replace(sketch, named_points=middle_first), [hole], Free(), 1e-3)


def test_a_drawn_point_off_the_sheet() -> None:
    sketch = REED.sketch(Path())
    points = (*sketch.named_points, NamedPoint(name="DRIVER", point_m=(0.1, 0.0)))
    with pytest.raises(GeometryError, match=r'"DRIVER": .*got \(100\.000, 0\.000\) mm'):
        blank_from_sketch(replace(sketch, named_points=points), [], Free(), 1e-3)


def test_stock_thicker_than_the_body_is_long_is_a_slip() -> None:
    with pytest.raises(GeometryError, match="no thicker than the body is long, 80 mm, got 900 mm"):
        built(thickness_m=0.9)
    assert built(thickness_m=0.08).thickness_m == 0.08
