"""Places carried along by the corners of a polygon, against what any such weights must give."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.geometry.mean_value import mean_value_weights

# An L with a square hole in its foot; one ring turns to the left, the other to the right or left.
OUTER = np.array([[0, 0], [6, 0], [6, 2], [2, 2], [2, 6], [0, 6]], dtype=float)
HOLE = np.array([[3, 0.5], [4, 0.5], [4, 1.5], [3, 1.5]], dtype=float)
POINTS = np.array([[1, 1], [1, 5], [5, 1], [3.5, 0.2], [2.5, 1], [0.1, 3]], dtype=float)


@pytest.mark.parametrize("outer", [OUTER, OUTER[::-1]])
@pytest.mark.parametrize("hole", [HOLE, HOLE[::-1]])
def test_corners_weighted_give_the_place_itself(outer, hole):
    weights = mean_value_weights([outer, hole], POINTS)
    assert weights.sum(axis=1) == pytest.approx(np.ones(len(POINTS)))
    assert weights @ np.concatenate([outer, hole]) == pytest.approx(POINTS)


@given(st.lists(st.floats(-2, 2), min_size=4, max_size=4), st.floats(-5, 5), st.floats(-5, 5))
def test_an_affine_map_of_the_corners_is_one_of_the_places(matrix, x, y):
    turn, shift = np.array(matrix).reshape(2, 2), np.array([x, y])
    weights = mean_value_weights([OUTER, HOLE], POINTS)
    corners = np.concatenate([OUTER, HOLE]) @ turn.T + shift
    assert np.allclose(weights @ corners, POINTS @ turn.T + shift, atol=1e-9)


def test_the_middle_of_a_square_lies_equally_near_to_its_corners():
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], dtype=float)
    weights = mean_value_weights([square], np.array([[0.0, 0.0]]))
    assert weights == pytest.approx(np.full((1, 4), 0.25))


def test_near_a_corner_its_weight_is_all():
    weights = mean_value_weights([OUTER, HOLE], np.array([[2 - 1e-7, 2 - 1e-7]]))
    assert weights[0, 3] == pytest.approx(1.0, abs=1e-5)
