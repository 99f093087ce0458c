"""Electromagnet whose reluctance is all in its gaps.

A. E. Fitzgerald, C. Kingsley and S. D. Umans, Electric Machinery, ch. 3, evaluated for N = 200,
I = 0.5 A, A = 1 cm², g = 1 mm: L = µ0 N² A/g, B = µ0 N I/g, F = µ0 N² I² A/(2 g²), and for a
C-core with two such gaps F = µ0 N² I² A/(4 g²).
"""

import numpy as np
import pytest

from modewright.transducers.gap import MU_0, BiasedGap, Gap

TURNS, CURRENT_A, AREA_M2, GAP_M = 200, 0.5, 1e-4, 1e-3


def _gap():
    return Gap(
        weight_m2=np.array([AREA_M2]),
        gap_m=np.array([GAP_M]),
        opening=np.array([[1.0]]),
        per_m=MU_0,
    )


def test_one_gap():
    gap = _gap()
    assert TURNS**2 * gap.permeance == pytest.approx(5.02655e-3, rel=1e-6)
    assert gap.permeance * TURNS * CURRENT_A / AREA_M2 == pytest.approx(0.125664, rel=1e-5)
    pull = BiasedGap(name="pole", gap=gap, bias=TURNS * CURRENT_A).pull_n
    assert pull == pytest.approx(0.628319, rel=1e-6)


def test_two_gaps_share_the_magnetomotive_force():
    each = BiasedGap(name="pole", gap=_gap(), bias=TURNS * CURRENT_A / 2).pull_n
    assert each == pytest.approx(0.157080, rel=1e-5)
    assert 2 * each == pytest.approx(0.314159, rel=1e-5)
