"""Drawings read back: every kind of curve, every unit, every layer."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import scipy.special

from modewright.errors import GeometryError
from modewright.geometry.build import build_blank
from modewright.geometry.drawn_parts import read_drawing
from modewright.geometry.families.drawn import DrawnOutline
from modewright.geometry.measures import (
    bounding_box_m,
    centroid_m,
    outline_area_m2,
    perimeter_m,
    signed_area_m2,
)
from modewright.geometry.support import Clamped

if TYPE_CHECKING:
    from collections.abc import Callable

    from ezdxf.layouts.layout import Modelspace

    Save = Callable[..., Path]

OUTLINE = {"layer": "OUTLINE"}
SQUARE = [(0, 0), (40, 0), (40, 40), (0, 40)]


def area_m2(path: Path) -> float:
    return abs(signed_area_m2(read_drawing(path).outline.outer))


def draw_tongue(space: Modelspace) -> None:
    """50 mm tongue, 10 mm wide, with a half round tip, from loose lines in mixed senses."""
    space.add_line((0, -5), (50, -5), dxfattribs=OUTLINE)
    space.add_arc((50, 0), 5, -90, 90, dxfattribs=OUTLINE)
    space.add_line((0, 5), (50, 5), dxfattribs=OUTLINE)
    space.add_line((0, 5), (0, -5), dxfattribs=OUTLINE)


@pytest.mark.parametrize(
    ("code", "metres", "name"),
    [
        (0, 1e-3, "no unit"), (1, 0.0254, "inch"), (2, 0.3048, "foot"), (4, 1e-3, "mm"),
        (5, 1e-2, "cm"), (6, 1.0, "m"), (9, 0.0254e-3, "mil"), (13, 1e-6, "µm"), (14, 0.1, "dm"),
    ],
)  # fmt: skip
def test_units(drawing: Save, code: int, metres: float, name: str) -> None:
    def draw(space: Modelspace) -> None:
        side = 0.04 / metres
        space.add_lwpolyline(
            [(0, 0), (side, 0), (side, side), (0, side)], close=True, dxfattribs=OUTLINE
        )

    parts = read_drawing(drawing(draw, units=code))
    assert signed_area_m2(parts.outline.outer) == pytest.approx(0.04**2, rel=1e-12)
    assert name in parts.unit_name


def test_loose_lines_and_arcs_are_joined(drawing: Save) -> None:
    path = drawing(draw_tongue)
    assert area_m2(path) == pytest.approx(50e-3 * 10e-3 + np.pi * 25e-6 / 2, rel=1e-12)


def test_circle_stays_exact(drawing: Save) -> None:
    path = drawing(lambda space: space.add_circle((10, 20), 15, dxfattribs=OUTLINE))
    outer = read_drawing(path).outline.outer
    assert signed_area_m2(outer) == pytest.approx(np.pi * 0.015**2, rel=1e-13)
    assert centroid_m(outer) == pytest.approx([0.01, 0.02])


@pytest.mark.parametrize("release", ["R12", "R2000", "R2018"])
def test_polyline_with_bulges(drawing: Save, release: str) -> None:
    def draw(space: Modelspace) -> None:
        rows = [(0, 0, 0), (40, 0, 1), (40, 10, 0), (0, 10, -0.5)]
        space.add_polyline2d(rows, format="xyb", close=True, dxfattribs=OUTLINE)

    angle = 4 * np.arctan(0.5)
    radius = 10e-3 / (2 * np.sin(angle / 2))
    cap = radius**2 * (angle - np.sin(angle)) / 2
    expected = 40e-3 * 10e-3 + np.pi * 25e-6 / 2 - cap
    assert area_m2(drawing(draw, release=release)) == pytest.approx(expected, rel=1e-12)


def test_open_polyline_whose_ends_meet_is_closed(drawing: Save) -> None:
    path = drawing(lambda s: s.add_lwpolyline([*SQUARE, SQUARE[0]], dxfattribs=OUTLINE))
    outer = read_drawing(path).outline.outer
    assert len(outer.bulge) == 4
    assert signed_area_m2(outer) == pytest.approx(1.6e-3)


def test_ellipse_within_a_micrometre(drawing: Save) -> None:
    path = drawing(lambda s: s.add_ellipse((0, 0), (30, 0), 0.3, dxfattribs=OUTLINE))
    outer = read_drawing(path).outline.outer
    a, b = 0.030, 0.009
    circumference = 4 * a * scipy.special.ellipe(1 - (b / a) ** 2)
    assert perimeter_m(outer) == pytest.approx(circumference, rel=1e-5)
    assert abs(signed_area_m2(outer) - np.pi * a * b) < 1e-6 * circumference
    # The vertices lie on the ellipse or within the tolerance of it.
    x, y = outer.vertices_m.T
    off = np.abs((x / a) ** 2 + (y / b) ** 2 - 1) / (2 * np.hypot(x / a**2, y / b**2))
    assert off.max() < 1e-6
    # An arc is good for what hundreds of lines would be needed for.
    assert len(outer.bulge) < 120


def test_spline_that_is_a_known_cubic(drawing: Save) -> None:
    # One Bézier cubic with control points p0..p3 over its chord has this area (shoelace of the
    # control polygon with weights of the cubic: 3/20 (...)), here by Gauss quadrature.
    control = np.array([(0, 0), (10, 30), (30, 30), (40, 0)], dtype=float)

    def draw(space: Modelspace) -> None:
        spline = space.add_open_spline([(x, y, 0) for x, y in control], degree=3)
        spline.dxf.layer = "OUTLINE"
        space.add_line((40, 0), (0, 0), dxfattribs=OUTLINE)

    nodes, weights = np.polynomial.legendre.leggauss(6)
    t = (nodes + 1) / 2
    basis = np.stack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3])
    slope = np.stack([-3 * (1 - t) ** 2, 3 * (1 - t) * (1 - 3 * t), 3 * t * (2 - 3 * t), 3 * t**2])
    expected = abs(weights / 2 @ ((control[:, 1] @ basis) * (control[:, 0] @ slope))) * 1e-6
    assert area_m2(drawing(draw)) == pytest.approx(expected, rel=2e-5)


def test_closed_spline_through_points(drawing: Save) -> None:
    turn = np.linspace(0, 2 * np.pi, 25)

    def draw(space: Modelspace) -> None:
        space.add_spline([(20 * np.cos(a), 20 * np.sin(a), 0) for a in turn], dxfattribs=OUTLINE)

    assert area_m2(drawing(draw)) == pytest.approx(np.pi * 0.02**2, rel=1e-3)


def test_blocks_and_mirrored_entities(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        assert space.doc is not None
        block = space.doc.blocks.new("TONGUE")
        block.add_lwpolyline([(0, 0), (30, 0, 0, 0, 1), (30, 10), (0, 10)], close=True)
        space.add_blockref("TONGUE", (5, 5), dxfattribs={"layer": "OUTLINE", "rotation": 30})
        space.add_circle((-15, 16), 2, dxfattribs={**OUTLINE, "extrusion": (0, 0, -1)})

    parts = read_drawing(drawing(draw))
    body = 30e-3 * 10e-3 + np.pi * 25e-6 / 2
    assert abs(signed_area_m2(parts.outline.outer)) == pytest.approx(body, rel=1e-9)
    # Stored at x = -15 as seen from below, it lies at +15.
    assert centroid_m(parts.outline.holes[0]) == pytest.approx([0.015, 0.016])


def test_layers(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        draw_tongue(space)
        space.add_circle((20, 0), 2, dxfattribs={"layer": "outline"})
        space.add_line((0, 9), (0, -1), dxfattribs={"layer": "Clamp"})
        space.add_lwpolyline(
            [(0, -6), (4, -6), (4, 6), (0, 6)], close=True, dxfattribs={"layer": "CLAMP"}
        )
        for x in (35, 45):
            space.add_circle((x, 0), 3, dxfattribs={"layer": "ELECTRODE_TIP"})
        space.add_circle((10, 0), 3, dxfattribs={"layer": "Electrode root"})
        space.add_point((30, 1), dxfattribs={"layer": "DRIVER"})
        space.add_circle((30, 0), 1, dxfattribs={"layer": "DRIVER_SPOT"})
        space.add_text("cut me", dxfattribs=OUTLINE)
        space.add_lwpolyline([(0, 0), (99, 0)], dxfattribs={"layer": "BORDER"})

    parts = read_drawing(drawing(draw))
    assert len(parts.outline.holes) == 1
    assert sorted(parts.held.edges_m[0, :, 1]) == pytest.approx([-0.001, 0.005])
    assert signed_area_m2(parts.held.areas[0]) == pytest.approx(48e-6)
    names = [area.name for area in parts.electrodes]
    assert names == ["ELECTRODE_TIP 1", "ELECTRODE_TIP 2", "Electrode root"]
    assert bounding_box_m(parts.electrodes[1].loop)[0][0] == pytest.approx(0.042)
    assert [(p.name, p.point_m) for p in parts.driver_points] == [("DRIVER", (0.030, 0.001))]
    assert [area.name for area in parts.driver_areas] == ["DRIVER_SPOT"]


def test_family_becomes_a_blank(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        draw_tongue(space)
        space.add_line((0, 5), (0, -5), dxfattribs={"layer": "CLAMP"})

    path = drawing(draw, units=0)
    section = DrawnOutline(file=path.name)
    sketch = section.sketch(path.parent)
    assert sketch.named_points[0].point_m == pytest.approx((0.055, 0.0), abs=2e-4)
    assert sketch.notes == (
        "drawn.dxf: the drawing names no unit ($INSUNITS): its lengths are taken as mm, so that "
        "the contour is 55 by 10 mm.",
    )
    blank = build_blank(section, [], Clamped(jaw_depth_m=5e-3), 1e-3, path.parent)
    assert outline_area_m2(blank.outline) == pytest.approx(50e-3 * 10e-3 + np.pi * 25e-6 / 2)
    assert blank.hold is not None
    assert bounding_box_m(blank.hold.areas[0])[1][0] == pytest.approx(5e-3)


def test_a_clamp_line_may_lie_a_little_off(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        draw_tongue(space)
        space.add_line((0.004, 5), (0.004, -5), dxfattribs={"layer": "CLAMP"})

    edges = read_drawing(drawing(draw)).held.edges_m
    assert np.abs(edges[0, :, 0]).max() == 0.0


def test_a_drawing_of_plain_curves_in_mm_needs_no_note(drawing: Save) -> None:
    assert read_drawing(drawing(draw_tongue)).notes == ()


def test_a_size_that_is_hardly_cut_asks_for_the_unit(drawing: Save) -> None:
    (note,) = read_drawing(drawing(draw_tongue, units=1)).notes
    assert note.startswith("the contour is 1397 by 254 mm, read in the unit that the drawing names")


def test_what_is_left_out_is_told_with_layer_kind_and_number(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        draw_tongue(space)
        for text in ("G3", "cut two"):
            space.add_text(text, dxfattribs=OUTLINE)
        space.add_point((10, 0), dxfattribs=OUTLINE)
        space.add_point((10, 0), dxfattribs={"layer": "driver"})
        space.add_line((0, 0), (99, 0), dxfattribs={"layer": "Frame"})
        space.add_hatch(dxfattribs={"layer": "CLAMP"})
        space.add_3dface(SQUARE, dxfattribs={"layer": "Frame"})
        space.add_blockref("NOWHERE", (0, 0), dxfattribs={"layer": "Frame"})
        assert space.doc is not None
        space.doc.paperspace().add_circle((0, 0), 5)

    assert read_drawing(drawing(draw)).notes == (
        "not read: 1 HATCH on layer CLAMP, 1 3DFACE on layer Frame, 1 INSERT on layer Frame, "
        "1 LINE on layer Frame, 1 POINT on layer OUTLINE, 2 TEXT on layer OUTLINE.",
        "not read: 1 entities on sheets of paper.",
    )


def test_a_missing_block_on_our_layers_is_refused(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        draw_tongue(space)
        space.add_blockref("NOWHERE", (0, 0), dxfattribs=OUTLINE)

    with pytest.raises(GeometryError, match="got INSERT on OUTLINE"):
        read_drawing(drawing(draw))


def test_a_block_in_a_block_stretched_in_rows(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        assert space.doc is not None
        space.add_lwpolyline(SQUARE, close=True, dxfattribs=OUTLINE)
        inner = space.doc.blocks.new("HOLE")
        inner.add_circle((0, 0), 1)
        outer = space.doc.blocks.new("PAIR")
        outer.add_blockref("HOLE", (0, 0))
        outer.add_blockref("HOLE", (4, 0), dxfattribs={"xscale": 1, "yscale": 2})
        row = {"column_count": 3, "column_spacing": 10, "row_count": 2, "row_spacing": 15}
        space.add_blockref("PAIR", (6, 6), dxfattribs={**OUTLINE, **row})

    holes = read_drawing(drawing(draw)).outline.holes
    areas = sorted(abs(signed_area_m2(hole)) for hole in holes)
    # Six circles of 1 mm, and six ellipses of 1 by 2 mm.
    assert areas[:6] == pytest.approx([np.pi * 1e-6] * 6, rel=1e-9)
    assert areas[6:] == pytest.approx([2 * np.pi * 1e-6] * 6, rel=1e-3)


def test_half_ellipse_and_spline_and_lines_make_one_contour(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        space.add_line((0, -5), (50, -5), dxfattribs=OUTLINE)
        space.add_ellipse(
            (50, 0), (0, 5), 0.6, start_param=np.pi, end_param=2 * np.pi, dxfattribs=OUTLINE
        )
        # A straight Bézier curve is a line.
        spline = space.add_open_spline([(50, 5), (30, 5), (10, 5), (0, 5)], degree=3)
        spline.dxf.layer = "OUTLINE"
        space.add_arc((0, 0), 5, 90, 270, dxfattribs=OUTLINE)

    expected = 500e-6 + np.pi * 25e-6 / 2 + np.pi * 5e-3 * 3e-3 / 2
    assert area_m2(drawing(draw)) == pytest.approx(expected, rel=2e-5)


def test_ends_written_in_whole_micrometres_meet(drawing: Save) -> None:
    # Corners of a square of 40 mm with a rounding of 5 mm, turned by an awkward angle; centre, ends
    # and angles rounded as a drawing with three decimals has them.
    turn = np.radians(17.3)
    cos, sin = np.cos(turn), np.sin(turn)

    def at(x: float, y: float) -> tuple[float, float]:
        return (round(cos * x - sin * y, 3), round(sin * x + cos * y, 3))

    def draw(space: Modelspace) -> None:
        corners = [at(0, 0), at(40, 0), at(40, 35)]
        for start, end in itertools.pairwise(corners):
            space.add_line(start, end, dxfattribs=OUTLINE)
        space.add_arc(at(35, 35), 5, 17.3, 107.3, dxfattribs=OUTLINE)
        space.add_line(at(35, 40), at(0, 40), dxfattribs=OUTLINE)
        space.add_line(at(0, 40), at(0, 0), dxfattribs=OUTLINE)

    assert area_m2(drawing(draw)) == pytest.approx(1.6e-3 - (1 - np.pi / 4) * 25e-6, rel=1e-4)


def test_our_own_layers_in_any_case_and_a_closed_lwpolyline_in_r12_form(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        space.add_polyline2d([*SQUARE, SQUARE[0]], dxfattribs={"layer": "Outline"})

    assert area_m2(drawing(draw, release="R12")) == pytest.approx(1.6e-3)
