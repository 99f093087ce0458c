"""Area, length and centroid of curves with arcs, against closed forms and laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.geometry.corners import circle, rectangle, rounded_polygon, slot
from modewright.geometry.flatten import flatten
from modewright.geometry.loop import Loop
from modewright.geometry.measures import bounding_box_m, centroid_m, perimeter_m, signed_area_m2
from modewright.geometry.planar import loop_polygon
from modewright.geometry.transforms import mirrored, moved, reversed_loop, rotated

ANGLE = st.floats(-np.pi, np.pi)
PLACE = st.tuples(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))


@st.composite
def star_loops(draw: st.DrawFn) -> Loop:
    """Anticlockwise star-shaped loops of lines and mild arcs, about 20 mm large."""
    count = draw(st.integers(3, 9))
    radius = np.array(draw(st.lists(st.floats(5e-3, 2e-2), min_size=count, max_size=count)))
    bulge = draw(st.lists(st.floats(-0.2, 0.3), min_size=count, max_size=count))
    turn = 2 * np.pi * np.arange(count) / count
    corners = radius[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return Loop(vertices_m=corners, bulge=np.array(bulge))


def test_circle() -> None:
    disc = circle((0.01, -0.02), 0.03)
    assert signed_area_m2(disc) == pytest.approx(np.pi * 0.015**2, rel=1e-14)
    assert perimeter_m(disc) == pytest.approx(np.pi * 0.03, rel=1e-14)
    assert centroid_m(disc) == pytest.approx([0.01, -0.02], abs=1e-16)
    low, high = bounding_box_m(disc)
    assert [*low, *high] == pytest.approx([-0.005, -0.035, 0.025, -0.005])


def test_stadium() -> None:
    stadium = slot((0.0, 0.0), 0.05, 0.01, np.radians(30))
    assert signed_area_m2(stadium) == pytest.approx(0.04 * 0.01 + np.pi * 0.005**2, rel=1e-14)
    assert perimeter_m(stadium) == pytest.approx(0.08 + np.pi * 0.01, rel=1e-14)
    reach = 0.02 * np.cos(np.radians(30)) + 0.005
    assert bounding_box_m(stadium)[1][0] == pytest.approx(reach)


def test_half_disc_has_its_centroid_at_4_over_3_pi() -> None:
    half = Loop(vertices_m=np.array([[-1.0, 0.0], [1.0, 0.0]]), bulge=np.array([0.0, 1.0]))
    assert signed_area_m2(half) == pytest.approx(np.pi / 2)
    assert centroid_m(half) == pytest.approx([0.0, 4 / (3 * np.pi)], abs=1e-15)


def test_three_quarter_disc_turns_by_more_than_half() -> None:
    corners = np.array([[1.0, 0.0], [0.0, -1.0], [0.0, 0.0]])
    pie = Loop(vertices_m=corners, bulge=np.array([np.tan(3 * np.pi / 8), 0.0, 0.0]))
    assert signed_area_m2(pie) == pytest.approx(0.75 * np.pi)
    # The missing quarter has its centroid at 4/(3π) in x and -y of its corner.
    missing = 4 / (3 * np.pi)
    assert centroid_m(pie) == pytest.approx([-missing / 3, missing / 3], abs=1e-15)


@pytest.mark.parametrize("bulge", [9.99e-4, 1.001e-3])
def test_flat_arcs_follow_the_series_and_the_closed_form_alike(bulge: float) -> None:
    cap = Loop(vertices_m=np.array([[0.0, 0.0], [1.0, 0.0]]), bulge=np.array([bulge, 0.0]))
    # Area of a segment of unit chord: bulge / 3 + bulge³ / 15 + ..., from R²(θ - sin θ)/2.
    assert signed_area_m2(cap) == pytest.approx(bulge / 3 + bulge**3 / 15, rel=1e-7)
    # 2/5 of the sagitta, bulge / 2, to the right of the chord.
    assert centroid_m(cap) == pytest.approx([0.5, -bulge / 5], rel=1e-4)


@given(star_loops(), ANGLE, PLACE)
def test_area_and_centroid_follow_turning_and_moving(
    loop: Loop, angle: float, shift: tuple[float, float]
) -> None:
    there = moved(rotated(loop, angle), shift)
    assert signed_area_m2(there) == pytest.approx(signed_area_m2(loop), rel=1e-9)
    assert perimeter_m(there) == pytest.approx(perimeter_m(loop), rel=1e-9)
    cos, sin = np.cos(angle), np.sin(angle)
    expected = np.array([[cos, -sin], [sin, cos]]) @ centroid_m(loop) + shift
    assert centroid_m(there) == pytest.approx(expected, abs=1e-11)


@given(star_loops(), st.integers(1, 8))
def test_start_vertex_does_not_matter(loop: Loop, steps: int) -> None:
    again = Loop(vertices_m=np.roll(loop.vertices_m, steps, 0), bulge=np.roll(loop.bulge, steps))
    assert signed_area_m2(again) == pytest.approx(signed_area_m2(loop), rel=1e-12)
    assert centroid_m(again) == pytest.approx(centroid_m(loop), abs=1e-14)


@given(star_loops())
def test_running_backwards_changes_the_sign_only(loop: Loop) -> None:
    assert signed_area_m2(reversed_loop(loop)) == pytest.approx(-signed_area_m2(loop), rel=1e-12)
    assert signed_area_m2(mirrored(loop)) == pytest.approx(signed_area_m2(loop), rel=1e-12)
    assert perimeter_m(reversed_loop(loop)) == pytest.approx(perimeter_m(loop), rel=1e-14)


@given(star_loops(), st.floats(1e-6, 1e-3))
def test_flattening_keeps_the_area(loop: Loop, sagitta_m: float) -> None:
    x, y = flatten(loop, sagitta_m).T
    shoelace = float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
    # Arcs flat to a tenth of the sagitta stay chords: two thirds of that height is missed.
    chords = np.roll(loop.vertices_m, -1, 0) - loop.vertices_m
    slack = np.hypot(*chords.T).sum() * sagitta_m / 15
    assert shoelace == pytest.approx(signed_area_m2(loop), rel=1e-12, abs=slack)


@pytest.mark.parametrize("sagitta_m", [1e-3, 1e-5, 1e-7])
def test_flattened_circle_has_exactly_its_area(sagitta_m: float) -> None:
    assert loop_polygon(circle((0.0, 0.0), 0.02), sagitta_m).area == pytest.approx(
        np.pi * 1e-4, rel=1e-13
    )


def test_rounding_a_corner_takes_the_known_area() -> None:
    sharp = rectangle((0.0, 0.0), (0.03, 0.02))
    rounded = rounded_polygon([(0, 0, 2e-3), (0.03, 0, 0), (0.03, 0.02, 0), (0, 0.02, 0)])
    taken = (1 - np.pi / 4) * 2e-3**2
    assert signed_area_m2(rounded) == pytest.approx(signed_area_m2(sharp) - taken, rel=1e-13)


def test_no_area_has_no_centroid() -> None:
    with pytest.raises(ValueError, match="encloses an area"):
        centroid_m(Loop.polygon([(0, 0), (1, 0), (2, 0)]))
