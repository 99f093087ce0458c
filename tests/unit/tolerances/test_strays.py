"""Which figures are told as missed."""

from __future__ import annotations

import numpy as np

from modewright.tolerances.strays import strays


def test_a_figure_is_told_if_a_solved_piece_is_far_outside_its_spread() -> None:
    # Two values of equal share, 2 apart, have the standard deviation 1.
    changes = np.tile([[-1.0], [1.0]], (50, 4))
    changes[:, 3] = np.nan
    errors = np.array([[2.9, -40.0, 0.1, np.nan], [0.0, 0.0, -0.1, np.nan]])
    (found,) = strays(changes, errors, np.full(4, 0.5))
    assert (found.figure, found.error, found.sigma) == (1, 40.0, 1.0)


def test_misses_too_small_to_matter_are_not_told() -> None:
    changes = np.tile([[-1e-6], [1e-6]], (50, 1))
    errors = np.array([[0.4]])
    assert strays(changes, errors, np.array([0.5])) == ()
    assert len(strays(changes, errors, np.array([0.3]))) == 1


def test_without_solved_pieces_nothing_is_told() -> None:
    assert strays(np.ones((5, 2)), np.zeros((0, 2)), np.ones(2)) == ()
