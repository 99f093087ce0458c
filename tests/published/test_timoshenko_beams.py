"""Beams with shear and rotary inertia.

Sources
-------
G. Robert, Analytical solutions in structural dynamics, Samtech report 121, Liege 1996, as used in
Code_Aster validation V2.04.302: simply supported beam, 2 m x 0.2 m, E = 210 GPa, shear factor 5/6.
NAFEMS FV5, issue 1989-01-09/1: deep simply supported beam, 2 m x 2 m x 10 m. (The torsion values
often reprinted with this test, 77.542 and 233.10 Hz, use the polar moment and are 9 % too high.)
ASTM E1876 eqs. 1 and 2 (S. Spinner and W. E. Tefft, Proc. ASTM 61 (1961) 1221).
"""

import numpy as np
import pytest

from modewright.materials.solid import IsotropicSolid
from modewright.modes.closed_form import youngs_modulus_of_free_bar_pa
from modewright.modes.closed_form_sections import torsion_constant_m4
from modewright.modes.closed_form_timoshenko import (
    BeamSection,
    beam_freq_hz,
    rectangle_shear_factor,
)

ALLOY = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.3, density_kg_per_m3=8000)


def test_simply_supported_beam_of_report_121():
    steel = IsotropicSolid(youngs_modulus_pa=2.1e11, poisson_ratio=0.3, density_kg_per_m3=7800)
    section = BeamSection.rectangle(0.1, 0.2, 5 / 6)
    found = beam_freq_hz(("pinned", "pinned"), steel, section, 2.0, 4)
    np.testing.assert_allclose(found, [115.7, 442.2, 931.6, 1534.0], rtol=5e-4)


def test_fv5_bending():
    section = BeamSection.rectangle(2.0, 2.0, rectangle_shear_factor(0.3))
    found = beam_freq_hz(("pinned", "pinned"), ALLOY, section, 10.0, 3)
    np.testing.assert_allclose(found, [42.650, 148.15, 283.47], rtol=2e-4)


def test_fv5_torsion():
    # Held against twist at one end: odd quarter waves.
    stiffness = ALLOY.shear_modulus_pa * torsion_constant_m4(2.0, 2.0)
    speed = (stiffness / (ALLOY.density_kg_per_m3 * 2.0**4 / 6)) ** 0.5
    assert speed / 40 == pytest.approx(71.20, rel=2e-4)
    assert 3 * speed / 40 == pytest.approx(213.61, rel=2e-4)


@pytest.mark.parametrize(
    ("slenderness", "ratios", "root_squared"),
    [
        (20, [1, 2.7117, 5.1958, 8.3469], 22.1721),
        (40, [1, 2.7449, 5.3480, 8.7694], 22.3223),
    ],
)
def test_overtones_of_a_stout_free_bar(slenderness, ratios, root_squared):
    """Exact determinant, nu = 0.3, shear factor 5/6, solved independently by matrix exponential."""
    thickness_m = 1 / slenderness
    section = BeamSection.rectangle(0.1, thickness_m, 5 / 6)
    found = beam_freq_hz(("free", "free"), ALLOY, section, 1.0, 4)
    np.testing.assert_allclose(found / found[0], ratios, rtol=1e-4)
    slender = thickness_m * (200e9 / 8000 / 12) ** 0.5
    assert 2 * np.pi * found[0] / slender == pytest.approx(root_squared, rel=1e-5)


@pytest.mark.parametrize(
    ("slenderness", "correction", "returned"),
    [(5, 1.27427, -2.0e-3), (10, 1.07108, -0.8e-3), (20, 1.01797, -0.2e-3)],
)
def test_youngs_modulus_of_a_free_bar(slenderness, correction, returned):
    thickness_m, width_m = 1 / slenderness, 0.1

    def modulus(freq_hz):
        return youngs_modulus_of_free_bar_pa(
            mass_kg=8000 * width_m * thickness_m,
            freq_hz=freq_hz,
            width_m=width_m,
            length_m=1.0,
            thickness_m=thickness_m,
            poisson_ratio=0.3,
        )

    uncorrected = 0.9465 * 8000 * thickness_m * slenderness**3
    assert modulus(1.0) / uncorrected == pytest.approx(correction, rel=1e-5)
    section = BeamSection.rectangle(width_m, thickness_m, 5 / 6)
    first = beam_freq_hz(("free", "free"), ALLOY, section, 1.0, 1)[0]
    assert modulus(first) / 200e9 - 1 == pytest.approx(returned, abs=2e-4)
