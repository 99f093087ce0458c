"""Torsion constant of rectangles, and the simply supported thin plate.

Sources
-------
S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, sec. 109, table of k1; six digits from
the same series; handbooks print 0.1406, 0.196, 0.229, 0.263, 0.291, 0.312.
NAFEMS FV13 (E1261/R002, February 1989, p. 21): 10 m x 10 m x 0.05 m, E = 200 GPa, nu = 0.3,
rho = 8000 kg/m3.
"""

import numpy as np
import pytest

from modewright.materials.solid import IsotropicSolid
from modewright.modes.closed_form_sections import supported_plate_freq_hz, torsion_constant_m4


@pytest.mark.parametrize(
    ("ratio", "k1"),
    [(1, 0.140577), (1.5, 0.195761), (2, 0.228682), (3, 0.263317), (5, 0.291317), (10, 0.312325)],
)
def test_torsion_constant(ratio, k1):
    assert torsion_constant_m4(ratio, 1.0) / ratio == pytest.approx(k1, abs=6e-7)
    assert torsion_constant_m4(1.0, ratio) == torsion_constant_m4(ratio, 1.0)


def test_fv13():
    alloy = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.3, density_kg_per_m3=8000)
    found = supported_plate_freq_hz(alloy, 10.0, 10.0, 0.05, 8)
    published = [2.377, 5.942, 5.942, 9.507, 11.884, 11.884, 15.449, 15.449]
    np.testing.assert_allclose(found, published, rtol=2e-4)
