"""Fringing of a rectangular capacitor.

H. B. Palmer, The capacitance of a parallel-plate capacitor by the Schwarz-Christoffel
transformation, Trans. AIEE 56 (1937) 363 (formula from memory, evaluated by hand).
"""

import pytest

from modewright.transducers.capacitive_pickup import fringe_factor


def test_square_of_10_mm_at_a_tenth():
    assert fringe_factor(10e-3, 10e-3, 0.1e-3) == pytest.approx(1.04795, rel=1e-5)


def test_formula_is_refused_for_a_wide_gap():
    with pytest.raises(ValueError, match=r"half of the shorter side, got 0\.004"):
        fringe_factor(10e-3, 5e-3, 4e-3)
