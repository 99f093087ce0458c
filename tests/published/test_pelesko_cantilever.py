"""Pull-in of a cantilever over a plate as long as itself.

The boundary value problem y'''' = a/(1 - y)², clamped and free, has no solution beyond
a = ε0 w L⁴ V²/(2 E I g³) = 1.68 (J. A. Pelesko and D. H. Bernstein, Modeling MEMS and NEMS, 2003,
ch. 7; value from memory). Solved below by collocation (scipy), with the tip's way as parameter.
"""

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.optimize import minimize_scalar

from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.gap import EPSILON_0
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.settle import critical_bias, settle

LENGTH_M, WIDTH_M, GAP_M, MASS_KG, FLEXURAL_N_M2 = 0.1, 0.02, 0.2e-3, 16e-3, 0.3
ROOTS = np.array([1.87510407, 4.69409113, 7.85475744, 10.99554073])


class Cantilever:
    """Bernoulli-Euler shapes (Blevins, Formulas for Natural Frequency and Mode Shape, 1979)."""

    mode_count = len(ROOTS)

    def displacement(self, points_m):
        z = points_m[:, :1] / LENGTH_M * ROOTS
        c = (np.sinh(ROOTS) - np.sin(ROOTS)) / (np.cosh(ROOTS) + np.cos(ROOTS))
        normal = (np.cosh(z) - np.cos(z) - c * (np.sinh(z) - np.sin(z))) / np.sqrt(MASS_KG)
        return np.stack([0 * normal, 0 * normal, normal], axis=1)


def load_at(tip):
    """Load a that holds the tip at a share of the gap."""

    def slopes(_x, y, p):
        return np.vstack([y[1], y[2], y[3], p[0] / (1 - y[0]) ** 2])

    def ends(left, right, _p):
        return np.array([left[0], left[1], right[2], right[3], right[0] - tip])

    x = np.linspace(0, 1, 60)
    guess = tip * np.vstack([x**2, 2 * x, 2 + 0 * x, 0 * x])
    found = solve_bvp(slopes, ends, x, guess, p=[8 * tip * (1 - tip) ** 2], tol=1e-8)
    assert found.success
    return float(found.p[0])


@pytest.fixture(scope="module")
def gap_and_omega():
    scale = np.sqrt(FLEXURAL_N_M2 / (MASS_KG / LENGTH_M * LENGTH_M**4))
    omega = ROOTS**2 * scale
    plate = RectanglePlate(centre_m=(LENGTH_M / 2, 0.0), length_m=LENGTH_M, width_m=WIDTH_M)
    pickup = CapacitivePickup(plate=plate, gap_m=GAP_M, bias_v=100.0)
    return pickup_gap(pickup, Cantilever()), omega


def volts(load):
    return np.sqrt(2 * FLEXURAL_N_M2 * GAP_M**3 * load / (EPSILON_0 * WIDTH_M * LENGTH_M**4))


def test_bias_at_which_it_snaps(gap_and_omega):
    gap, omega = gap_and_omega
    best = minimize_scalar(lambda tip: -load_at(tip), bounds=(0.3, 0.6), method="bounded")
    assert -best.fun == pytest.approx(1.68, abs=0.01)
    assert critical_bias(omega, (gap,), 0) == pytest.approx(volts(-best.fun), rel=2e-3)


def test_course_of_the_tip_below_that(gap_and_omega):
    gap, omega = gap_and_omega
    tip_shape = Cantilever().displacement(np.array([[LENGTH_M, 0.0]]))[0, 2]
    for tip in (0.05, 0.2, 0.35):
        load = load_at(tip)
        coordinate = settle(omega, (gap.with_bias(float(volts(load))),))
        assert -(tip_shape @ coordinate) / GAP_M == pytest.approx(tip, rel=5e-3)
