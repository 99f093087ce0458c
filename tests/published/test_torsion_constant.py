"""Torsion constant of rectangles.

Source
------
S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, sec. 109, table of k1; six digits from
the same series; handbooks print 0.1406, 0.196, 0.229, 0.263, 0.291, 0.312.
"""

import pytest

from modewright.modes.closed_form_sections import torsion_constant_m4


@pytest.mark.parametrize(
    ("ratio", "k1"),
    [(1, 0.140577), (1.5, 0.195761), (2, 0.228682), (3, 0.263317), (5, 0.291317), (10, 0.312325)],
)
def test_torsion_constant(ratio, k1):
    assert torsion_constant_m4(ratio, 1.0) / ratio == pytest.approx(k1, abs=6e-7)
    assert torsion_constant_m4(1.0, ratio) == torsion_constant_m4(ratio, 1.0)
