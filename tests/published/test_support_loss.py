"""Energy that a clamped strip sends into a large block.

Sources
-------
H. Lamb, On the propagation of tremors over the surface of an elastic solid, Phil. Trans. R. Soc. A
203 (1904) 1-42: response of a half-space to a tangential line force (integral coded below).
Z. Hao, A. Erbil and F. Ayazi, An analytical model for support loss in micromachined beam
resonators, Sensors and Actuators A 109 (2003) 156-164: Q = 2.081, 0.173, 0.064 (L/h)^3 for the
first three modes of a clamped strip of silicon, nu = 0.28 (from memory). Their integral leaves out
the surface wave, which makes the loss a quarter smaller.
"""

import dataclasses

import numpy as np
import pytest
from scipy.optimize import brentq

from made_up_surface import along, moving_bar
from modewright.losses.support import block_loss_factor, entered_loss_factor
from modewright.materials.solid import IsotropicSolid
from modewright.modes.closed_form import beam_roots, strip_freq_hz

SOLID = IsotropicSolid(youngs_modulus_pa=160e9, poisson_ratio=0.28, density_kg_per_m3=2330)
LENGTH_M, WIDTH_M, THICKNESS_M = 0.06, 0.01, 0.001


def clamped_strip(points=4000, axis=2):
    x = (np.arange(points) + 0.5) / points
    roots = beam_roots("clamped-free", 3)
    sigma = (np.cosh(roots) + np.cos(roots)) / (np.sinh(roots) + np.sin(roots))
    z = x[:, None] * roots
    shape = np.cosh(z) - np.cos(z) - sigma * (np.sinh(z) - np.sin(z))
    mass_kg = SOLID.density_kg_per_m3 * LENGTH_M * WIDTH_M * THICKNESS_M
    surface = moving_bar(
        x * LENGTH_M, along(axis, shape / np.sqrt(mass_kg)), WIDTH_M, mass_kg=mass_kg
    )
    return strip_freq_hz(roots, SOLID, LENGTH_M, THICKNESS_M), surface


def compliance(poisson_ratio, *, is_normal):
    """Imaginary part of Lamb's integral times G: body waves and surface wave."""
    slow = (1 - 2 * poisson_ratio) / (2 * (1 - poisson_ratio))
    turns = np.linspace(0, np.pi, 100_001)
    edges = (1 - np.cos(turns)) / 2
    k = (edges[1:] + edges[:-1]) / 2
    a, b = np.sqrt(k**2 - slow + 0j), np.sqrt(k**2 - 1 + 0j)
    top, offset = (a, slow) if is_normal else (b, 1.0)
    body = 2 * np.sum((top / ((2 * k**2 - 1) ** 2 - 4 * k**2 * a * b)).imag * np.diff(edges))

    def rayleigh(k):
        return (2 * k**2 - 1) ** 2 - 4 * k**2 * np.sqrt((k**2 - slow) * (k**2 - 1))

    pole = brentq(rayleigh, 1 + 1e-9, 2.0)
    slope = (rayleigh(pole + 1e-6) - rayleigh(pole - 1e-6)) / 2e-6
    return abs(body) / (2 * np.pi) + abs(np.sqrt(pole**2 - offset) / slope)


@pytest.mark.parametrize("poisson_ratio", [0.2, 0.28, 0.34])
@pytest.mark.parametrize("is_normal", [False, True])
def test_half_space_takes_what_lamb_says(poisson_ratio, is_normal):
    in_terms_of_e = compliance(poisson_ratio, is_normal=is_normal) * 2 * (1 + poisson_ratio)
    assert in_terms_of_e == pytest.approx(1 - poisson_ratio**2, rel=1e-5)


def test_lateral_modes_send_shear_waves():
    """Line force along its line: the half-space gives way by H0(kr)/(2 G), so it takes F^2 w/4G."""
    freq_hz, across = clamped_strip()
    _, lateral = clamped_strip(axis=1)
    ratio = block_loss_factor(freq_hz, lateral, SOLID, WIDTH_M) / block_loss_factor(
        freq_hz, across, SOLID, WIDTH_M
    )
    shear, plate = 1 / (4 * SOLID.shear_modulus_pa), 1 / (2 * SOLID.plate_modulus_pa)
    np.testing.assert_allclose(ratio, shear / plate, rtol=1e-12)


def test_clamped_strip_against_the_printed_constants():
    freq_hz, surface = clamped_strip()
    q = 1 / block_loss_factor(freq_hz, surface, SOLID, WIDTH_M)
    constants = q / (LENGTH_M / THICKNESS_M) ** 3
    printed = np.array([2.081, 0.173, 0.064])
    np.testing.assert_allclose(constants / constants[0], printed / printed[0], rtol=0.01)
    np.testing.assert_allclose(constants, printed, rtol=0.25)


def test_a_balanced_fork_loses_nothing():
    freq_hz, surface = clamped_strip()
    names = (f.name for f in dataclasses.fields(surface) if f.name != "is_round")
    twice = {name: np.concatenate([getattr(surface, name)] * 2) for name in names}
    twice["motion"] = np.concatenate([surface.motion, -surface.motion])
    both = dataclasses.replace(surface, **twice)
    loss = block_loss_factor(freq_hz, both, SOLID, WIDTH_M)
    np.testing.assert_allclose(loss, 0.0, atol=1e-20)


def test_a_free_body_has_no_hold_to_lose_by():
    freq_hz, surface = clamped_strip(50)
    assert np.all(block_loss_factor(freq_hz, surface, SOLID, 0.0) == 0)


def test_the_last_entered_figure_holds_for_the_rest():
    found = entered_loss_factor((1000.0, 500.0), 4)
    np.testing.assert_allclose(1 / found, [1000, 500, 500, 500])
    np.testing.assert_allclose(1 / entered_loss_factor((1000.0, 500.0), 1), [1000])
