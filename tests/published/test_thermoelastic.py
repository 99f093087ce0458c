"""Thermoelastic damping of thin strips and plates.

Sources
-------
R. Lifshitz and M. L. Roukes, Thermoelastic damping in micro- and nanomechanical systems, Phys.
Rev. B 61 (2000) 5600-5609, eq. 36 ff.: maximum 0.494 at xi = 2.225.
C. Zener, Internal friction in solids, Phys. Rev. 52 (1937) 230 and 53 (1938) 90: peak 0.5 of one
relaxation, at f = pi chi/(2 h^2).
Worked case: phosphor bronze C51000, 0.5 mm, E = 110 GPa, alpha = 17.8e-6, rho = 8860, c = 377,
k = 69, T = 293.15 K, evaluated from these formulas.
"""

import dataclasses

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from modewright.losses.thermoelastic import relaxation, thermoelastic_loss_factor
from modewright.materials.table import material_named
from modewright.modes.basis import BendingStrain

BRONZE = material_named("phosphor bronze C51000")
E, NU = 110e9, BRONZE.poisson_ratio.value
THICKNESS_M = 0.5e-3
STRENGTH = 3.0588e-3


def loss(dilatation_per_pa, freq_hz, metal=BRONZE, thickness_m=THICKNESS_M):
    bending = BendingStrain(
        thickness_m=np.array([thickness_m]), dilatation_per_pa=np.array([[dilatation_per_pa]])
    )
    return float(thermoelastic_loss_factor(np.array([freq_hz]), bending, metal)[0])


SLENDER = (1 - 2 * NU) ** 2 / E


def test_peak_of_the_relaxation():
    found = minimize_scalar(lambda xi: -float(relaxation(xi)), bounds=(1.5, 3.0), method="bounded")
    assert found.x == pytest.approx(2.224555, abs=1e-4)
    assert -found.fun == pytest.approx(0.494179, abs=1e-6)


def test_worked_case():
    assert BRONZE.thermal_diffusivity_m2_per_s == pytest.approx(2.0657e-5, rel=1e-4)
    assert loss(SLENDER, 129.8) == pytest.approx(1.5116e-3, rel=1e-4)
    assert loss(SLENDER, 440.0) == pytest.approx(8.311e-4, rel=2e-4)
    assert 1 / loss(SLENDER, 440.0) == pytest.approx(1203, abs=1)


def test_zener_single_relaxation_is_close():
    for freq_hz, single in ((129.8, 1.5294e-3), (440.0, 8.301e-4)):
        assert loss(SLENDER, freq_hz) == pytest.approx(single, rel=0.013)


@pytest.mark.parametrize("freq_hz", [50.0, 129.8, 1000.0])
def test_sheet_bent_to_a_cylinder_and_to_a_sphere(freq_hz):
    """Dilatation and energy of plane stress, written out here."""
    strain = 1.0
    cylinder_dilatation = strain * (1 - 2 * NU) / (1 - NU)
    cylinder_energy = E / (1 - NU**2) * strain**2 / 2
    sphere_dilatation = 2 * cylinder_dilatation
    sphere_energy = E / (1 - NU) * strain**2
    slender = loss(SLENDER, freq_hz)
    cylinder = loss(cylinder_dilatation**2 / (2 * cylinder_energy), freq_hz)
    sphere = loss(sphere_dilatation**2 / (2 * sphere_energy), freq_hz)
    assert cylinder / slender == pytest.approx((1 + NU) / (1 - NU), rel=1e-12)
    assert sphere / slender == pytest.approx(2 / (1 - NU), rel=1e-12)


@pytest.mark.parametrize(
    "name", ["carbon spring steel", "stainless 304", "aluminium 6061-T6", "brass C26000"]
)
def test_zener_bounds_every_metal(name):
    """One relaxation is right at its peak and low by up to 6/(pi^2/2) - 1 = 22 % above it."""
    metal = material_named(name)
    e, nu = metal.youngs_modulus_pa.value, metal.poisson_ratio.value
    heat = metal.density_kg_per_m3.value * metal.specific_heat_j_per_kg_per_k.value
    strength = e * metal.expansion_per_k.value**2 * 293.15 / heat
    pace_hz = np.pi * metal.thermal_conductivity_w_per_m_per_k.value / heat / (2 * 1e-3**2)
    for freq_hz in (220.0, 2000.0):
        zener = strength * freq_hz * pace_hz / (freq_hz**2 + pace_hz**2)
        assert 0.98 < loss((1 - 2 * nu) ** 2 / e, freq_hz, metal, 1e-3) / zener < 12 / np.pi**2


def test_temperature_enters_through_the_strength():
    warm = dataclasses.replace(BRONZE, temperature_k=2 * 293.15)
    assert loss(SLENDER, 440.0, warm) == pytest.approx(2 * loss(SLENDER, 440.0), rel=1e-12)
