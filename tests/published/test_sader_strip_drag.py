"""Hydrodynamic function of an oscillating strip.

Sources
-------
J. E. Sader, J. Appl. Phys. 84 (1998) 64-76 (the function under test).
A. Maali, C. Hurth, R. Boisgard, C. Jai, T. Cohen-Bouhacina and J.-P. Aime, J. Appl. Phys. 97
(2005) 074907: independent fit 1.0553 + 3.7997 d + i (3.8018 d + 2.7364 d^2) with the boundary
layer d = sqrt(2 mu/(rho omega))/width, stated for Reynolds numbers of 1 to 1000.
H. Lamb, Hydrodynamics, art. 71: added mass of a strip, (pi/4) rho b^2.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from made_up_surface import along, moving_bar
from modewright.losses.air_drag import air_drag_reaction, strip_drag
from modewright.materials.air import air_at


@pytest.mark.parametrize(
    ("reynolds", "tolerance"), [(1, 0.01), (3, 0.01), (10, 0.01), (30, 0.015), (100, 0.05)]
)
def test_agrees_with_the_independent_fit(reynolds, tolerance):
    layer = 1 / np.sqrt(2 * reynolds)
    fit = 1.0553 + 3.7997 * layer + 1j * (3.8018 * layer + 2.7364 * layer**2)
    found = complex(strip_drag(reynolds))
    assert found.real == pytest.approx(fit.real, rel=0.01)
    assert found.imag == pytest.approx(fit.imag, rel=tolerance)


def test_added_mass_of_the_inviscid_limit():
    assert float(strip_drag(1e4).real) == pytest.approx(1.0, abs=0.05)


@given(st.floats(0.01, 1e7), st.floats(1.01, 10.0))
def test_drag_falls_with_the_reynolds_number(reynolds, factor):
    one, other = strip_drag(np.array([reynolds, reynolds * factor])).imag
    assert 0 < other < one


def test_uniform_strip():
    """Heavy strip of mass m per length, Sader, eqs. 25 and 29 (from memory).

    Q = 4 m/(pi rho b^2 Im Γ), and omega sinks by sqrt(1 + pi rho b^2 Re Γ/(4 m)).
    """
    air, width_m, mass_per_m, length_m = air_at(293.15), 6e-3, 0.05, 0.05
    points = 40
    shape = np.linspace(0, 1, points) ** 2
    modal = np.sum(shape**2) * mass_per_m * length_m / points
    x = (np.arange(points) + 0.5) * length_m / points
    surface = moving_bar(x, along(2, (shape / np.sqrt(modal))[:, None]), width_m)
    freq_hz = np.array([220.0])
    reynolds = air.density_kg_per_m3 * 2 * np.pi * 220 * width_m**2 / (4 * air.viscosity_pa_s)
    gamma = complex(strip_drag(reynolds))
    of_air = np.pi * air.density_kg_per_m3 * width_m**2 / (4 * mass_per_m)
    found = air_drag_reaction(freq_hz, surface, air)[0]
    assert found.real == pytest.approx(of_air * gamma.imag, rel=1e-12)
    assert found.imag == pytest.approx(of_air * gamma.real, rel=1e-12)
