"""Ways across sheets."""

import math

import numpy as np
import pytest
from shapely import Point, Polygon

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
