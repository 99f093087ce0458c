"""Curves on the layer CLAMP: round edges, edges held all round, areas."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest

from modewright.errors import GeometryError
from modewright.geometry.arcs import arc_of
from modewright.geometry.build import build_blank
from modewright.geometry.drawn_parts import read_drawing
from modewright.geometry.families.drawn import DrawnOutline
from modewright.geometry.measures import signed_area_m2
from modewright.geometry.support import Clamped
from modewright.modes.regions import cut_into_regions

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from ezdxf.layouts.layout import Modelspace

    Save = Callable[..., Path]

OUTLINE, CLAMP = {"layer": "OUTLINE"}, {"layer": "CLAMP"}
SIDE = [(0, 0), (60, 0), (60, 60), (0, 60)]


def held(drawing: Save, draw: Callable[[Modelspace], None]):
    return read_drawing(drawing(draw)).held


def angle_deg(found) -> float:
    """Angle that the held arcs take together."""
    pieces = zip(found.edges_m, found.edge_bulge, strict=True)
    return float(np.degrees(sum(abs(arc_of(*edge, bulge).angle_rad) for edge, bulge in pieces)))


def disc(space: Modelspace) -> None:
    space.add_circle((10, 5), 50, dxfattribs=OUTLINE)


@pytest.mark.parametrize("start", [0, 30, 170, 350])
@pytest.mark.parametrize("sweep", [40, 180, 300])
def test_an_arc_along_the_contour_holds_it_so_far(drawing: Save, start: int, sweep: int) -> None:
    def draw(space: Modelspace) -> None:
        disc(space)
        space.add_arc((10, 5), 50, start, start + sweep, dxfattribs=CLAMP)

    found = held(drawing, draw)
    assert angle_deg(found) == pytest.approx(sweep, abs=1e-3)
    assert np.hypot(*(found.edges_m - [0.01, 0.005]).T) == pytest.approx(0.05, abs=1e-8)


def closed_circle(space: Modelspace) -> None:
    space.add_circle((10, 5), 50, dxfattribs=CLAMP)


def two_arcs(space: Modelspace) -> None:
    for start in (45, 225):
        space.add_arc((10, 5), 50, start, start + 180, dxfattribs=CLAMP)


def fine_chords(space: Modelspace) -> None:
    turn = np.radians(np.arange(0, 361, 0.5))
    corners = np.stack([10 + 50 * np.cos(turn), 5 + 50 * np.sin(turn)], axis=1)
    for first, last in itertools.pairwise(corners):
        space.add_line(first, last, dxfattribs=CLAMP)


@pytest.mark.parametrize("way", [closed_circle, two_arcs, fine_chords])
def test_a_contour_held_all_round(drawing: Save, way) -> None:
    def draw(space: Modelspace) -> None:
        disc(space)
        way(space)

    found = held(drawing, draw)
    assert not found.areas
    assert angle_deg(found) == pytest.approx(360, abs=1e-3)


def test_a_hole_held_all_round(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        disc(space)
        space.add_circle((10, 5), 10, dxfattribs=OUTLINE)
        space.add_circle((10, 5), 10, dxfattribs=CLAMP)

    found = held(drawing, draw)
    assert angle_deg(found) == pytest.approx(360, abs=1e-3)
    assert np.hypot(*(found.edges_m - [0.01, 0.005]).T) == pytest.approx(0.01, abs=1e-8)


@pytest.mark.parametrize("is_closed", [True, False])
def test_four_lines_round_a_square_are_its_edges(drawing: Save, is_closed: bool) -> None:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline(SIDE, close=True, dxfattribs=OUTLINE)
        if is_closed:
            space.add_lwpolyline(SIDE, close=True, dxfattribs=CLAMP)
            return
        for first, last in zip(SIDE, [*SIDE[1:], SIDE[0]], strict=True):
            space.add_line(first, last, dxfattribs=CLAMP)

    found = held(drawing, draw)
    assert not found.areas
    lengths = np.hypot(*(found.edges_m[:, 1] - found.edges_m[:, 0]).T)
    assert lengths == pytest.approx(np.full(4, 0.06), abs=1e-9)


def test_a_tangent_holds_the_straight_piece_alone(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        space.add_line((0, -5), (50, -5), dxfattribs=OUTLINE)
        space.add_arc((50, 0), 5, -90, 90, dxfattribs=OUTLINE)
        space.add_line((0, 5), (50, 5), dxfattribs=OUTLINE)
        space.add_line((0, 5), (0, -5), dxfattribs=OUTLINE)
        space.add_line((30, 5), (60, 5), dxfattribs=CLAMP)

    found = held(drawing, draw)
    assert found.edge_bulge.tolist() == [0.0]
    assert sorted(found.edges_m[0, :, 0]) == pytest.approx([0.03, 0.05])


def beside(space: Modelspace) -> None:
    space.add_arc((10, 5), 49.9, 0, 90, dxfattribs=CLAMP)


def crossing(space: Modelspace) -> None:
    space.add_arc((60, 5), 50, 90, 270, dxfattribs=CLAMP)


@pytest.mark.parametrize("way", [beside, crossing])
def test_a_curve_that_follows_nothing_is_told(drawing: Save, way) -> None:
    def draw(space: Modelspace) -> None:
        disc(space)
        way(space)

    with pytest.raises(GeometryError, match="got none under the arc from"):
        held(drawing, draw)


def test_a_ring_of_two_circles_is_told_how_to_draw(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        disc(space)
        closed_circle(space)
        space.add_circle((10, 5), 40, dxfattribs=CLAMP)

    with pytest.raises(GeometryError, match=r"one inside another, around \(10.000, 5.000\) mm"):
        held(drawing, draw)


def test_areas_beside_each_other_stay_areas(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        disc(space)
        for x in (-25, 45):
            space.add_circle((x, 5), 5, dxfattribs=CLAMP)

    found = held(drawing, draw)
    assert len(found.edges_m) == 0
    assert [abs(signed_area_m2(area)) for area in found.areas] == pytest.approx(
        [np.pi * 25e-6] * 2, rel=1e-9
    )


@pytest.mark.parametrize("sagitta_m", [2e-6, 2e-5, 1e-4])
@pytest.mark.parametrize("sweep", [40, 133, 300])
def test_the_mesh_holds_the_length_that_is_drawn(
    drawing: Save, sagitta_m: float, sweep: int
) -> None:
    def draw(space: Modelspace) -> None:
        disc(space)
        space.add_arc((10, 5), 50, 17, 17 + sweep, dxfattribs=CLAMP)

    path = drawing(draw)
    blank = build_blank(DrawnOutline(file=path.name), [], Clamped(), 1e-3, path.parent)
    regions = cut_into_regions(blank, sagitta_m)
    ends = np.array([regions.nodes_m[[e.start, e.end]] for e in regions.edges if e.is_held])
    length_m = np.hypot(*(ends[:, 1] - ends[:, 0]).T).sum()
    assert length_m == pytest.approx(0.05 * np.radians(sweep), rel=2e-3)


def test_jaws_need_a_straight_root(drawing: Save) -> None:
    def draw(space: Modelspace) -> None:
        disc(space)
        closed_circle(space)

    path = drawing(draw)
    section = DrawnOutline(file=path.name)
    with pytest.raises(GeometryError, match="straight root edge for jaw_depth, got a round one"):
        build_blank(section, [], Clamped(jaw_depth_m=5e-3), 1e-3, path.parent)
