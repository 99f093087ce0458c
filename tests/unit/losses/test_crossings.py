"""Ways across sheets."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from modewright.losses.crossings import crossings


def test_width_of_a_turned_strip_and_of_a_disc():
    turn = 0.3
    rotation = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    strip = Polygon(np.array([[-5, -1], [5, -1], [5, 1], [-5, 1]]) @ rotation)
    inside = np.array([[0.0, 0.0], [2.0, 0.3]]) @ rotation
    ways = crossings(strip, inside)
    np.testing.assert_allclose(ways.width_m, 2.0, rtol=0.01)
    # Within half of a twelfth of half a turn.
    across = np.array([0.0, 1.0]) @ rotation
    assert np.all(np.abs(ways.direction @ across) > math.cos(math.pi / 24 + 1e-9))
    disc = Point(0, 0).buffer(1.0, quad_segs=64)
    assert crossings(disc, np.array([[0.0, 0.0]])).width_m[0] == pytest.approx(2.0, rel=1e-3)


def test_point_beside_the_middle():
    strip = Polygon([[-5, -1], [5, -1], [5, 1], [-5, 1]])
    way = crossings(strip, np.array([[0.5, 0.4]]))
    np.testing.assert_allclose(way.direction, [[0.0, 1.0]], atol=1e-12)
    np.testing.assert_allclose([way.behind_m[0], way.ahead_m[0]], [1.4, 0.6], rtol=1e-12)


@pytest.mark.parametrize("slip", [-1e-17, 0.0, 1e-17])
def test_points_on_an_edge_look_through_the_metal(slip: float):
    # A slot of 1 between two arms of 2: from the edge of the slot the way leads across the arm.
    fork = Polygon([[0, 0], [0, 5], [20, 5], [20, 3], [5, 3], [5, 2], [20, 2], [20, 0]])
    points = np.array([[12.0, 2 + slip], [12.0, 3 + slip], [12.0, slip], [12.0, 5 + slip]])
    np.testing.assert_allclose(crossings(fork, points).width_m, 2.0, rtol=1e-12)


@given(
    tip=st.floats(0.2, 3.0),
    length=st.floats(3.0, 60.0),
    along=st.floats(0.05, 0.95),
    across=st.floats(-1.0, 1.0),
)
def test_every_way_is_a_chord_of_the_strip(tip: float, length: float, along: float, across: float):
    half = 0.5 + (tip / 2 - 0.5) * along
    strip = Polygon([[0, -0.5], [length, -tip / 2], [length, tip / 2], [0, 0.5]])
    point = np.array([along * length, across * half])
    way = crossings(strip, point[None, :])
    assert 0 < way.width_m[0] <= strip.length / 2
    ends = np.stack(
        [point - way.behind_m * way.direction[0], point + way.ahead_m * way.direction[0]]
    )
    assert strip.exterior.distance(Point(ends[0])) < 1e-9 * length
    assert strip.exterior.distance(Point(ends[1])) < 1e-9 * length
    # No shorter than between the sides: the middle of the way lies in metal.
    assert strip.buffer(1e-9).covers(LineString(ends))
