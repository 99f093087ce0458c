"""Places that hear one mode and not others: exact cases and laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.electrodes.choice import Slips, choose_places, slice_weights
from modewright.modes.beam_shapes import clamped_free_shapes


def _grid(count: int) -> np.ndarray:
    return (np.arange(count) + 0.5) / count


def test_odd_function_is_rejected_by_taking_everything_even():
    x = _grid(200)
    found = choose_places(np.ones((200, 1)), (x - 0.5)[:, None])
    assert found is not None
    assert found.share == pytest.approx(1.0)
    assert found.kept == pytest.approx(1.0)


def test_a_line_against_an_evenly_moving_one_keeps_half():
    """∫u = 0 leaves a pair: +1 beyond the middle, -1 before it; ∫u (x - ½) = ∫|x - ½|."""
    x = _grid(1000)
    found = choose_places((x - 0.5)[:, None], np.ones((1000, 1)), is_pair=True)
    assert found is not None
    assert found.kept == pytest.approx(1.0)
    assert np.all(found.share[x > 0.51] == pytest.approx(1.0))
    assert np.all(found.share[x < 0.49] == pytest.approx(-1.0))


def test_one_plate_cannot_hear_anything_against_an_even_mode():
    x = _grid(100)
    assert choose_places((x - 0.5)[:, None], np.ones((100, 1))) is None


def test_sine_modes_of_a_supported_beam():
    """Of sin πx and sin 3πx the first: the plate ends where sin πx + λ sin 3πx = 0.

    Symmetry leaves [a, 1 - a] with ∫ sin 3πx = 0, hence cos 3πa = 0 and a = 1/6; what it keeps of
    ∫ sin πx is cos(π/6).
    """
    x = _grid(6000)
    found = choose_places(np.sin(np.pi * x)[:, None], np.sin(3 * np.pi * x)[:, None])
    assert found is not None
    taken = found.share > 0.5
    assert x[taken].min() == pytest.approx(1 / 6, abs=2e-4)
    assert x[taken].max() == pytest.approx(5 / 6, abs=2e-4)
    assert found.kept == pytest.approx(np.cos(np.pi / 6), abs=1e-4)


@given(
    seed=st.integers(0, 10_000),
    rejected=st.integers(1, 4),
    is_pair=st.booleans(),
)
def test_few_cells_lie_between_the_limits_and_the_sum_decides(seed, rejected, is_pair):
    rng = np.random.default_rng(seed)
    wanted, others = rng.standard_normal((120, 1)), rng.standard_normal((120, rejected))
    found = choose_places(wanted, others, is_pair=is_pair)
    assert found is not None
    assert found.between <= rejected + 1
    assert found.share @ others == pytest.approx(np.zeros(rejected), abs=1e-6)
    deciding = wanted @ found.wanted_factor + others @ found.rejected_factor
    is_clear = np.abs(deciding) > 1e-9 * np.abs(deciding).max()
    low = -1.0 if is_pair else 0.0
    expected = np.where(deciding > 0, 1.0, low)
    at_limit = np.minimum(np.abs(found.share - low), np.abs(found.share - 1)) < 1e-7
    assert found.share[is_clear & at_limit] == pytest.approx(expected[is_clear & at_limit])


def test_a_slip_is_held_where_it_can_be():
    """Of x = 0..1 the unhindered plate is everything; kept out of a slip it ends earlier.

    With u = 1 on [0, a] the signal is a and the slip ∫x = a²/2, held to a/10 by a = 1/5.
    """
    x = _grid(2000)
    one, none = np.ones((2000, 1)), np.zeros((2000, 1))
    slips = Slips(heard=x[:, None], limit=0.1, cost=100.0)
    found = choose_places(one, none, slips=slips)
    assert found is not None
    taken = found.share > 0.5
    assert x[taken].max() == pytest.approx(0.2, abs=1e-3)
    assert found.kept == pytest.approx(0.2, abs=1e-3)
    deciding = one @ found.wanted_factor + slips.heard @ found.slip_factor
    assert np.array_equal(deciding > 0, taken) or np.sum((deciding > 0) != taken) <= 2


def test_copper_that_is_there_anyway_is_made_good():
    """A track where the free plate has none is taken as it is, and the rest cancels it."""
    x = _grid(6000)
    taken = np.where(x < 1 / 6, 1.0, 0.0)
    wanted, third = np.sin(np.pi * x)[:, None], np.sin(3 * np.pi * x)[:, None]
    free = choose_places(wanted, third)
    held = choose_places(wanted, third, taken=taken)
    assert free is not None
    assert held is not None
    assert np.all(held.share[x < 1 / 6] == pytest.approx(1.0))
    assert held.share @ third[:, 0] == pytest.approx(0.0, abs=1e-6)
    assert held.kept < free.kept


def test_a_slip_that_cannot_be_held_is_no_hindrance():
    one, none = np.ones((500, 1)), np.zeros((500, 1))
    found = choose_places(one, none, slips=Slips(heard=one, limit=0.1, cost=0.5))
    assert found is not None
    assert found.kept == pytest.approx(1.0)


def test_two_wanted_modes_are_heard_alike():
    x = _grid(400)
    shapes = clamped_free_shapes(x, 4)
    found = choose_places(shapes[:, :2], shapes[:, 2:])
    assert found is not None
    heard = np.abs(found.share @ shapes[:, :2]) / np.abs(shapes[:, :2]).sum(axis=0)
    assert heard[0] == pytest.approx(heard[1], rel=1e-6)
    assert found.kept == pytest.approx(heard[0], rel=1e-6)


def test_fine_slices_of_a_beam_weigh_like_its_own_shape():
    """Modal filter: with orthogonal modes, the weights follow the wanted shape itself.

    Lee & Moon 1990, J. Appl. Mech. 57, 434 (from memory).
    """
    shapes = clamped_free_shapes(_grid(400), 4)
    weights = slice_weights(shapes, 1)
    assert weights / np.abs(weights).max() == pytest.approx(
        shapes[:, 1] / np.abs(shapes[:, 1]).max(), abs=2e-3
    )


@given(seed=st.integers(0, 10_000), wanted=st.integers(0, 3))
def test_slices_reject_the_others(seed, wanted):
    coupling = np.random.default_rng(seed).standard_normal((6, 4))
    heard = slice_weights(coupling, wanted) @ coupling
    assert np.delete(heard, wanted) == pytest.approx(np.zeros(3), abs=1e-9)
    assert heard[wanted] > 0


def test_slices_that_cannot_tell():
    with pytest.raises(ValueError, match="tell the wanted mode"):
        slice_weights(np.ones((3, 2)), 0)
