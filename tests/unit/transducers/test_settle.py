"""Static position against a scan of the equilibrium curve."""

import numpy as np
import pytest

from modewright.errors import TransducerError
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.electromagnet import BiasedElectromagnet
from modewright.transducers.gap import EPSILON_0
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.settle import critical_bias, settle

PLATE = RectanglePlate(centre_m=(0.09, 0.0), length_m=0.012, width_m=0.012)


def _gap(basis, **changes):
    given = {"plate": PLATE, "gap_m": 0.2e-3, "bias_v": 300.0}
    return pickup_gap(CapacitivePickup(**(given | changes)), basis.shapes)


def test_position_balances_spring_and_pull(strip):
    gap = _gap(strip)
    coordinate = settle(strip.omega_rad_s, (gap,))
    assert strip.omega_rad_s**2 * coordinate == pytest.approx(gap.moved(coordinate).force, rel=1e-9)
    assert gap.gap.mean_opening @ coordinate < 0  # pulled towards the plate


def test_without_gaps_nothing_moves(strip):
    assert settle(strip.omega_rad_s, ()).tolist() == [0.0] * 4


def test_position_grows_with_the_square_of_a_small_bias(strip):
    small = [settle(strip.omega_rad_s, (_gap(strip, bias_v=v),))[0] for v in (1.0, 2.0)]
    assert small[1] == pytest.approx(4 * small[0], rel=1e-4)


def test_body_holds_just_below_the_critical_bias_and_snaps_above(strip):
    gap = _gap(strip)
    critical = critical_bias(strip.omega_rad_s, (gap,), 0)
    settle(strip.omega_rad_s, (gap.with_bias(critical * 0.9999),))
    with pytest.raises(TransducerError, match="snaps over"):
        settle(strip.omega_rad_s, (gap.with_bias(critical * 1.0001),))


def test_critical_bias_of_two_alike_gaps_at_once(make_piston):
    # A second gap with the same bias as the first takes its half of k g³: with both raised
    # together the body gives way at 1/sqrt(2) of the single value.
    basis = make_piston(500.0)
    area, gap_m = 144e-6, 0.2e-3
    single = np.sqrt(8 * 500.0 * gap_m**3 / (27 * EPSILON_0 * area))
    pair_v = single / np.sqrt(2)
    first, second = (_gap(basis, bias_v=pair_v) for _ in range(2))
    assert critical_bias(basis.omega_rad_s, (first,), 0) == pytest.approx(single, rel=1e-6)
    near = (first, second.with_bias(pair_v * 0.999))
    expected = np.sqrt(single**2 - (pair_v * 0.999) ** 2)
    assert critical_bias(basis.omega_rad_s, near, 0) == pytest.approx(expected, rel=1e-6)


def test_another_gap_may_touch_first(strip):
    near_hold = RectanglePlate(centre_m=(0.02, 0.0), length_m=0.01, width_m=0.012)
    root = _gap(strip, plate=near_hold, gap_m=0.5e-3)
    tip = _gap(strip, gap_m=0.05e-3, bias_v=1.0)
    alone = critical_bias(strip.omega_rad_s, (root,), 0)
    stopped = critical_bias(strip.omega_rad_s, (root, tip), 0)
    assert 0 < stopped < alone


def test_pole_behind_a_long_magnet_touches_before_it_snaps(make_piston):
    """Spring times gap is the pull: a third of gap and iron is more than the gap alone."""
    stiffness, gap_m, iron_m, area_m2 = 500.0, 0.3e-3, 3e-3, np.pi * 4e-6
    basis = make_piston(stiffness)
    magnet = BiasedElectromagnet(
        position_m=(0.0, 0.0), pole_diameter_m=4e-3, gap_m=gap_m, iron_gap_m=iron_m
    )
    biased = magnet.biased_gap(basis.shapes, "ferromagnetic")
    # At contact the iron's length of air is all that is left: F = M² µ0 A/(2 l²).
    touches_a = iron_m * np.sqrt(2 * stiffness * gap_m / (4e-7 * np.pi * area_m2))
    snaps_a = np.sqrt(8 * stiffness * (gap_m + iron_m) ** 3 / (27 * 4e-7 * np.pi * area_m2))
    assert touches_a < 0.9 * snaps_a
    found = critical_bias(basis.omega_rad_s, (biased,), 0)
    assert found == pytest.approx(touches_a, rel=1e-5)
    with pytest.raises(TransducerError, match="which closes the gap"):
        settle(basis.omega_rad_s, (biased.with_bias(1.001 * touches_a),))
    with pytest.raises(TransducerError, match="snaps over"):
        settle(basis.omega_rad_s, (biased.with_bias(1.001 * snaps_a),))
    # With little iron it snaps before it touches.
    short = BiasedElectromagnet(
        position_m=(0.0, 0.0), pole_diameter_m=4e-3, gap_m=gap_m, iron_gap_m=0.5e-3
    ).biased_gap(basis.shapes, "ferromagnetic")
    snaps_a = np.sqrt(8 * stiffness * 0.8e-3**3 / (27 * 4e-7 * np.pi * area_m2))
    assert critical_bias(basis.omega_rad_s, (short,), 0) == pytest.approx(snaps_a, rel=1e-6)


def test_plate_under_a_part_that_cannot_move_never_pulls_in(strip):
    at_hold = RectanglePlate(centre_m=(2.5e-7, 0.0), length_m=5e-7, width_m=0.012)
    gap = _gap(strip, plate=at_hold, gap_m=1e-3, bias_v=1.0)
    assert critical_bias(strip.omega_rad_s, (gap,), 0) == np.inf
