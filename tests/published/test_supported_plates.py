"""Plates on simple supports, solved as solids.

Simple support of the hard kind: the side faces may move along their normal and nothing else. It is
made of springs on the side faces, very stiff within the face and very soft along its normal.

Sources
-------
NAFEMS FV13 (E1261/R002, February 1989, p. 21): thin plate, 10 m x 10 m x 0.05 m, E = 200 GPa,
nu = 0.3, rho = 8000 kg/m3: 2.377, 5.942, 9.507, 11.884, 15.449 Hz (exact for the thin plate).
F. Abbassian, D. J. Dawswell and N. C. Knowles, Selected Benchmarks for Natural Frequency Analysis,
NAFEMS R0015, 1987, FV52: 10 m x 10 m x 1 m. The "closed form" 45.897, 109.44, 167.89 Hz is that of
a plate with shear factor pi^2/12 and hard supports. A solid with hard supports has sin sin
solutions of its own, Rayleigh-Lamb waves of the slab; they are solved below and give 45.971,
109.857, 168.821 Hz. Supports that only stop uz give 44.2 Hz and must not be compared with these.
D. J. Dawe and O. L. Roufaeil, J. Sound Vib. 69 (1980) 345-359: side over thickness 10, shear factor
5/6, omega a sqrt(rho/G) = 0.930, 2.219, 3.406, 4.149 (from memory).
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from modewright.materials.solid import IsotropicSolid
from modewright.modes.solid import solve_modes
from sheet_blanks import rectangle, sheet

METAL = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.3, density_kg_per_m3=8000)
PAIRS = np.array([1**2 + 1**2, 1**2 + 2**2, 2**2 + 1**2, 2**2 + 2**2, 1**2 + 3**2, 3**2 + 1**2])


def supported(side, thickness, count):
    """Bending frequencies of a square plate on hard simple supports."""
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1)]) * side
    held = [[corners[i], corners[(i + 1) % 4]] for i in range(4)]
    within = 1e5 * METAL.youngs_modulus_pa / thickness
    softness = 1e-11
    blank = sheet(
        rectangle(0, 0, side, side), thickness,
        held=held, stiffness=within * softness, shear_ratio=1 / softness,
    )  # fmt: skip
    modes = solve_modes(blank, METAL, count=count, accuracy="normal")
    places = side * np.array([(0.21, 0.27), (0.37, 0.31), (0.5, 0.45), (0.61, 0.73)])
    along = np.abs(modes.shapes.displacement(places)).max(axis=0)
    return modes.freq_hz[along[2] > 0.9 * along.max(axis=0)]


def flexural_wave_hz(square_number, side, thickness):
    """Lowest antisymmetric Rayleigh-Lamb wave of a slab with k² = square_number (π/side)².

    tanh(p h/2)/tanh(q h/2) = 4 k² p q/(k² + q²)², p² = k² - ω²/c_L², q² = k² - ω²/c_T².
    """
    k2 = square_number * (np.pi / side) ** 2
    shear = METAL.shear_modulus_pa / METAL.density_kg_per_m3
    push = (METAL.first_lame_pa + 2 * METAL.shear_modulus_pa) / METAL.density_kg_per_m3

    def equation(freq_hz):
        omega2 = (2 * np.pi * freq_hz) ** 2
        p, q = np.sqrt(k2 - omega2 / push), np.sqrt(k2 - omega2 / shear)
        first = (k2 + q**2) ** 2 * np.tanh(p * thickness / 2)
        return first - 4 * k2 * p * q * np.tanh(q * thickness / 2)

    highest = np.sqrt(k2 * shear) / (2 * np.pi)
    return brentq(equation, 0.01 * highest * thickness * np.sqrt(k2), 0.94 * highest)


def test_slab_waves_give_the_figures_of_the_thick_plate():
    found = [flexural_wave_hz(n, 10.0, 1.0) for n in (2, 5, 8, 10)]
    assert found == pytest.approx([45.971, 109.857, 168.821, 205.869], rel=3e-5)


def test_fv13():
    printed = [2.377, 5.942, 5.942, 9.507, 11.884, 11.884, 15.449, 15.449]
    assert supported(10.0, 0.05, 8) == pytest.approx(printed, rel=1e-3)


def test_fv52_with_hard_supports():
    found = supported(10.0, 1.0, 9)[:4]
    printed = [45.897, 109.44, 109.44, 167.89]
    assert found == pytest.approx([flexural_wave_hz(n, 10.0, 1.0) for n in PAIRS[:4]], rel=1e-3)
    assert found == pytest.approx(printed, rel=6e-3)


def test_shear_deformable_plate_of_dawe_and_roufaeil():
    found = supported(0.2, 0.02, 14)[:6]
    speed = np.sqrt(METAL.shear_modulus_pa / METAL.density_kg_per_m3)
    printed = [0.930, 2.219, 2.219, 3.406, 4.149, 4.149]
    assert 2 * np.pi * found * 0.2 / speed == pytest.approx(printed, rel=6e-3)
