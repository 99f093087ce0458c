"""Largest swings against the motion itself, stepped through time."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from modewright.transducers.gap import EPSILON_0, BiasedGap, Gap
from modewright.transducers.swing import largest_swings

AREA_M2, GAP_M = 100e-6, 0.2e-3
STIFFNESS = 1000.0  # of 1 kg: displacement and coordinate are the same


def gap(bias, gap_m=GAP_M, opening=1.0, filled_m=0.0):
    return BiasedGap(
        name="plate",
        gap=Gap(
            weight_m2=np.array([AREA_M2]),
            gap_m=np.array([gap_m + filled_m]),
            opening=np.array([[opening]]),
            per_m=EPSILON_0,
            filled_m=filled_m,
        ),
        bias=bias,
    )


def at_rest(margin):
    """Gap at the position at rest for so much less than the voltage of pull-in."""
    bias = np.sqrt(8 * STIFFNESS * GAP_M**3 / (27 * EPSILON_0 * AREA_M2)) / margin
    left = 1.0
    for _ in range(4000):  # x = F/k, iterated from the undeflected side
        left = 1 - 4 / (27 * margin**2 * left**2)
    return gap(bias, left * GAP_M)


def comes_back(plate, start):
    """Release from `start` off rest; whether it keeps clear of the plate for four periods."""
    width, push = plate.gap.gap_m[0], EPSILON_0 * AREA_M2 * plate.bias**2 / 2

    def rates(_, y):
        return [y[1], -STIFFNESS * y[0] - push * (1 / (width + y[0]) ** 2 - 1 / width**2)]

    def touches(_, y):
        return width + y[0] - 1e-3 * GAP_M

    touches.terminal = True
    end_s = 4 * 2 * np.pi / np.sqrt(STIFFNESS) * 3
    done = solve_ivp(rates, (0, end_s), [start, 0.0], events=touches, rtol=1e-8, atol=1e-12)
    return len(done.t_events[0]) == 0


@pytest.mark.parametrize("margin", [1.05, 1.3, 2.0, 4.58])
def test_released_from_less_it_comes_back_and_from_more_it_snaps(margin):
    plate = at_rest(margin)
    most = largest_swings(np.array([STIFFNESS]), (plate,))[0]
    assert comes_back(plate, 0.99 * most)
    assert comes_back(plate, -0.99 * most)
    assert not comes_back(plate, 1.01 * most)  # away from the plate, and back over the ridge


def test_share_of_the_gap_falls_with_the_margin():
    shares = []
    for margin in (1.3, 1.5, 2.0, 3.0, 1000.0):
        plate = at_rest(margin)
        found = largest_swings(np.array([STIFFNESS]), (plate,))[0]
        shares.append(found / plate.gap.gap_m[0])
    assert shares == pytest.approx([0.41, 0.50, 0.63, 0.75, 1.0], abs=0.006)


def test_without_bias_it_is_the_touch():
    plain = largest_swings(np.array([STIFFNESS, STIFFNESS]), (_two_modes(),))
    assert plain == pytest.approx([GAP_M / 2, np.inf], rel=1e-5)


def _two_modes():
    found = gap(0.0).gap
    return BiasedGap(
        name="plate",
        gap=Gap(
            weight_m2=found.weight_m2,
            gap_m=found.gap_m,
            opening=np.array([[-2.0, 0.0]]),
            per_m=EPSILON_0,
        ),
        bias=0.0,
    )


def test_iron_behind_the_pole_leaves_the_touch_as_limit():
    # So much of the circuit is iron that the ridge lies beyond the face.
    stiff = gap(20.0, filled_m=5e-3)
    assert largest_swings(np.array([STIFFNESS]), (stiff,)) == pytest.approx([GAP_M], rel=1e-3)


def test_gaps_on_both_sides_bind_together():
    below, above = at_rest(2.0), gap(0.0, 0.3 * GAP_M, -1.0)
    alone = largest_swings(np.array([STIFFNESS]), (below,))[0]
    both = largest_swings(np.array([STIFFNESS]), (below, above))[0]
    assert both < alone
    assert both < 0.3 * GAP_M


def test_nothing_faces_it():
    assert largest_swings(np.array([STIFFNESS]), ()).tolist() == [np.inf]
