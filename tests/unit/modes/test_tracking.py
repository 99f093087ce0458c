"""Modes keep their identity: crossings by symmetry, equals that part, other meshes."""

from dataclasses import replace

import numpy as np
import pytest

from modewright.modes.moved import solve_moved
from modewright.modes.sampling import sheet_shapes
from modewright.modes.solid import solve_body
from modewright.modes.tracking import follow_across, follow_modes, paired, shape_traces
from sheet_blanks import STEEL, rectangle, sheet, square, strip


def solved(blank, count=6):
    return solve_body(blank, STEEL, count=count, accuracy="draft")[1]


def is_odd(solution, mode, y_m):
    """Whether a mode of a strip twists: opposite at mirrored places."""
    places = np.array([[0.055, y_m], [0.055, -y_m]])
    shapes = sheet_shapes(solution.system, solution.shapes)
    one, other = shapes.displacement(places)[:, 2, mode]
    return one * other < 0


def test_torsion_crosses_bending_without_a_swap():
    """Torsion falls as a strip widens, bending does not; symmetry lets them cross."""
    base = solved(strip(0.06, 0.010, 1e-3))
    state, places = base, np.arange(3)
    odd = [is_odd(base, mode, 0.004) for mode in places]
    assert odd == [False, False, True] or odd == [False, True, False]
    for width in np.linspace(0.010, 0.024, 20)[1:]:
        followed = follow_modes(
            state, solve_moved(base, strip(0.06, float(width), 1e-3), STEEL), places
        )
        assert followed.assurance.min() > 0.95
        state, places = followed.solution, followed.places
    assert [is_odd(state, mode, 0.004) for mode in places] == odd
    assert list(places) != [0, 1, 2]


def test_the_same_body_is_followed_exactly():
    base = solved(strip(0.06, 0.012, 1e-3))
    followed = follow_modes(base, base, np.array([3, 1]))
    assert list(followed.places) == [3, 1]
    np.testing.assert_allclose(followed.assurance, 1.0, rtol=1e-9)


def test_equals_turned_at_will_are_turned_back():
    """Any turn within a degenerate pair is as good a solution."""
    base = solved(square(0.05, 1e-3), count=5)
    cos, sin = np.cos(0.7), np.sin(0.7)
    turn = np.eye(5)
    turn[3:, 3:] = [[cos, -sin], [sin, cos]]
    equal = replace(base, omega2=np.array([*base.omega2[:4], base.omega2[3] * (1 + 1e-6)]))
    turned = replace(equal, shapes=base.shapes @ turn)
    followed = follow_modes(equal, turned, np.arange(5))
    np.testing.assert_allclose(followed.assurance, 1.0, rtol=1e-6)


def test_equals_that_part_anticipate_what_they_become():
    base = solved(square(0.05, 1e-3), count=6)
    longer = sheet(rectangle(0, 0, 0.0502, 0.05), 1e-3)
    followed = follow_modes(base, solve_moved(base, longer, STEEL), np.arange(5))
    assert followed.assurance.min() > 0.95
    assert sorted(followed.places) == [0, 1, 2, 3, 4]


def test_modes_are_found_again_on_another_mesh():
    before = solved(strip(0.06, 0.012, 1e-3))
    after = solve_body(strip(0.0602, 0.012, 1e-3), STEEL, count=6, accuracy="normal")[1]
    followed = follow_across(before, after, np.arange(5))
    assert list(followed.places) == [0, 1, 2, 3, 4]
    assert followed.assurance.min() > 0.98


def test_other_meshes_cannot_be_compared_as_vectors():
    before, after = solved(strip(0.06, 0.012, 1e-3)), solved(square(0.03, 1e-3, [3]))
    with pytest.raises(ValueError, match="the same mesh"):
        follow_modes(before, after, np.arange(2))


def test_traces_are_of_unit_length():
    traces = shape_traces(solved(strip(0.06, 0.012, 1e-3)))
    np.testing.assert_allclose((traces**2).sum(axis=0), 1.0)


def test_pairs_are_the_best_in_sum():
    places, values = paired(np.array([[0.6, 0.7, 0.0], [0.1, 0.9, 0.0]]))
    assert list(places) == [0, 1]
    assert list(values) == [0.6, 0.9]
