"""Energy that a clamped body sends into a large block.

Sources
-------
H. Lamb, On the propagation of tremors over the surface of an elastic solid, Phil. Trans. R. Soc. A
203 (1904) 1-42: response of a half-space to a tangential line force (integral coded below).
Z. Hao, A. Erbil and F. Ayazi, An analytical model for support loss in micromachined beam
resonators, Sensors and Actuators A 109 (2003) 156-164: Q = 2.081, 0.173, 0.064 (L/h)^3 for the
first three modes of a clamped strip of silicon, nu = 0.28 (from memory). Their integral leaves out
the surface wave, which makes the loss a quarter smaller.
G. F. Miller and H. Pursey, On the partition of energy between elastic waves in a semi-infinite
solid, Proc. R. Soc. A 233 (1955) 55-69: point load (from memory).
F. E. Richart, J. R. Hall and R. D. Woods, Vibrations of Soils and Foundations, 1970: J. Lysmer's
disc (from memory).
"""

import dataclasses

import numpy as np
import pytest
from scipy.optimize import brentq

from made_up_surface import along, moving_bar
from modewright.losses.held import HeldLine
from modewright.losses.support import block_loss_factor, entered_loss_factor
from modewright.materials.solid import IsotropicSolid
from modewright.modes.closed_form import beam_roots, strip_freq_hz

SOLID = IsotropicSolid(youngs_modulus_pa=160e9, poisson_ratio=0.28, density_kg_per_m3=2330)
LENGTH_M, WIDTH_M, THICKNESS_M = 0.06, 0.01, 0.001
HELD = HeldLine(width_m=WIDTH_M, centre_m=np.zeros(2))


def clamped_strip(points=4000, axis=2, width_m=WIDTH_M):
    x = (np.arange(points) + 0.5) / points
    roots = beam_roots("clamped-free", 3)
    sigma = (np.cosh(roots) + np.cos(roots)) / (np.sinh(roots) + np.sin(roots))
    z = x[:, None] * roots
    shape = np.cosh(z) - np.cos(z) - sigma * (np.sinh(z) - np.sin(z))
    mass_kg = SOLID.density_kg_per_m3 * LENGTH_M * width_m * THICKNESS_M
    surface = moving_bar(
        x * LENGTH_M, along(axis, shape / np.sqrt(mass_kg)), width_m, mass_kg=mass_kg
    )
    return strip_freq_hz(roots, SOLID, LENGTH_M, THICKNESS_M), surface


def along_the_surface(poisson_ratio, top):
    """Imaginary part of an integral of `top`(k, a, b) over Rayleigh's function.

    Body waves by midpoints, the surface wave by its residue; k in terms of that of shear waves.
    """
    slow = (1 - 2 * poisson_ratio) / (2 * (1 - poisson_ratio))
    turns = np.linspace(0, np.pi, 100_001)
    edges = (1 - np.cos(turns)) / 2
    k = (edges[1:] + edges[:-1]) / 2
    a, b = np.sqrt(k**2 - slow + 0j), np.sqrt(k**2 - 1 + 0j)
    shares = top(k, a, b) / ((2 * k**2 - 1) ** 2 - 4 * k**2 * a * b)
    body = np.sum(shares.imag * np.diff(edges))

    def rayleigh(k):
        return (2 * k**2 - 1) ** 2 - 4 * k**2 * np.sqrt((k**2 - slow) * (k**2 - 1))

    pole = brentq(rayleigh, 1 + 1e-9, 2.0)
    slope = (rayleigh(pole + 1e-6) - rayleigh(pole - 1e-6)) / 2e-6
    surface = np.pi * top(pole, np.sqrt(pole**2 - slow), np.sqrt(pole**2 - 1)) / slope
    return abs(body) + abs(surface)


def compliance(poisson_ratio, *, is_normal):
    """Of a line force, times G."""
    found = along_the_surface(poisson_ratio, lambda _, a, b: a if is_normal else b)
    return found / np.pi


@pytest.mark.parametrize("poisson_ratio", [0.2, 0.28, 0.34])
def test_point_load_and_moment_on_a_half_space(poisson_ratio):
    """Powers F^2 w^2 I/(4 pi G c) and M^2 w^4 I/(4 pi G c^3); a rigid bar about its middle."""
    solid = dataclasses.replace(SOLID, poisson_ratio=poisson_ratio)
    shear_pa, speed = solid.shear_modulus_pa, np.sqrt(solid.shear_modulus_pa / 2330)
    omega, x = 2 * np.pi * 50.0, np.linspace(0.05, 0.15, 11)
    bar = moving_bar(x, along(2, np.ones((11, 1))), 0.01, mass_kg=2.0)
    end = HeldLine(width_m=0.01, centre_m=np.zeros(2))
    middle = HeldLine(width_m=0.01, centre_m=np.array([0.1, 0.0]))
    at_end, shaken = (block_loss_factor(np.array([50.0]), bar, solid, h)[0] for h in (end, middle))
    force, moment = 2.0 * omega, 2.0 * 0.1 * omega
    pressed = along_the_surface(poisson_ratio, lambda k, a, _: k * a)
    rocked = along_the_surface(poisson_ratio, lambda k, a, _: k**3 * a / 2)
    slid = (1 + along_the_surface(poisson_ratio, lambda k, _, b: k * b)) / 2
    by_force = (force * omega) ** 2 * pressed / (4 * np.pi * shear_pa * speed)
    by_moment = (moment * omega**2) ** 2 * rocked / (4 * np.pi * shear_pa * speed**3)
    # Power for unit modal velocity, doubled.
    assert shaken == pytest.approx(2 * by_force / omega, rel=0.04)
    assert at_end - shaken == pytest.approx(2 * by_moment / omega, rel=0.04)
    assert 0.8 < slid / pressed < 1.0


def test_miller_and_pursey_and_the_disc():
    """W = 4.836 w^2 F^2/(4 pi rho c1^3), nu = 1/4; Lysmer c = 3.4 r^2 sqrt(rho G)/(1 - nu)."""
    solid = dataclasses.replace(SOLID, poisson_ratio=0.25)
    omega = 2 * np.pi * 50.0
    bar = moving_bar(np.linspace(0, 0.1, 11), along(2, np.ones((11, 1))), 0.01, mass_kg=1.0)
    held = HeldLine(width_m=0.01, centre_m=None)
    found = block_loss_factor(np.array([50.0]), bar, solid, held)[0]
    fast = np.sqrt(3 * solid.shear_modulus_pa / 2330)
    power = 4.836 * omega**2 * omega**2 / (4 * np.pi * 2330 * fast**3)
    assert found == pytest.approx(2 * power / omega, rel=0.03)
    # A disc of radius r on its spring 4 G r/(1 - nu), well below its resonance.
    damper = 3.4 * np.sqrt(2330 * solid.shear_modulus_pa) / 0.75
    spring = 4 * solid.shear_modulus_pa / 0.75
    assert found == pytest.approx(omega * omega**2 * damper / spring**2, rel=0.1)


@pytest.mark.parametrize("poisson_ratio", [0.2, 0.28, 0.34])
@pytest.mark.parametrize("is_normal", [False, True])
def test_half_space_takes_what_lamb_says(poisson_ratio, is_normal):
    in_terms_of_e = compliance(poisson_ratio, is_normal=is_normal) * 2 * (1 + poisson_ratio)
    assert in_terms_of_e == pytest.approx(1 - poisson_ratio**2, rel=1e-5)


def slab(axis):
    """Loss of a strip many wavelengths wide."""
    freq_hz, surface = clamped_strip(axis=axis, width_m=100.0)
    return block_loss_factor(freq_hz, surface, SOLID, HeldLine(width_m=100.0, centre_m=None))


def test_wide_lateral_modes_send_shear_waves():
    """Line force along its line: the half-space gives way by H0(kr)/(2 G), so it takes F^2 w/4G."""
    shear, plate = 1 / (4 * SOLID.shear_modulus_pa), 1 / (2 * SOLID.plate_modulus_pa)
    np.testing.assert_allclose(slab(1) / slab(2), shear / plate, rtol=1e-12)


def test_wide_clamped_strip_against_the_printed_constants():
    constants = 1 / slab(2) / (LENGTH_M / THICKNESS_M) ** 3
    printed = np.array([2.081, 0.173, 0.064])
    np.testing.assert_allclose(constants / constants[0], printed / printed[0], rtol=0.01)
    np.testing.assert_allclose(constants, printed, rtol=0.25)


def test_a_narrow_strip_loses_much_less():
    """By 0.425 w b/c of a slab as wide, b being its width: Lysmer's disc over the slab."""
    freq_hz, surface = clamped_strip()
    found = block_loss_factor(freq_hz, surface, SOLID, HELD)
    speed = np.sqrt(SOLID.shear_modulus_pa / SOLID.density_kg_per_m3)
    share = 0.425 * 2 * np.pi * freq_hz * WIDTH_M / speed
    assert np.all(share < 0.1)
    # What the moment at the hold adds grows with the frequency.
    assert found[0] == pytest.approx(share[0] * slab(2)[0], rel=0.1)
    assert np.all(found < 2 * share * slab(2))


def test_a_balanced_fork_loses_nothing():
    freq_hz, surface = clamped_strip()
    names = (f.name for f in dataclasses.fields(surface) if f.name != "is_round")
    twice = {name: np.concatenate([getattr(surface, name)] * 2) for name in names}
    twice["motion"] = np.concatenate([surface.motion, -surface.motion])
    both = dataclasses.replace(surface, **twice)
    loss = block_loss_factor(freq_hz, both, SOLID, HELD)
    np.testing.assert_allclose(loss, 0.0, atol=1e-20)


def test_a_free_body_has_no_hold_to_lose_by():
    freq_hz, surface = clamped_strip(50)
    assert np.all(block_loss_factor(freq_hz, surface, SOLID, None) == 0)


def test_the_last_entered_figure_holds_for_the_rest():
    found = entered_loss_factor((1000.0, 500.0), 4)
    np.testing.assert_allclose(1 / found, [1000, 500, 500, 500])
    np.testing.assert_allclose(1 / entered_loss_factor((1000.0, 500.0), 1), [1000])
