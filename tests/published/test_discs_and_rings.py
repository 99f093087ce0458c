"""Thin round plates: frequency parameters λ² = ω a² sqrt(ρ h/D), from the determinants.

Sources
-------
A. W. Leissa, Vibration of Plates, NASA SP-160, 1969, chs. 2.1 and 2.2: frequency determinants of
discs and rings in Bessel functions, set up and solved below; table 2.1, clamped disc: 10.2158,
21.26, 34.88, 39.771 (from memory, confirmed by the determinant). Table of the free disc for a
Poisson ratio of 0.33: 5.253, 9.084, 12.23, 20.52, 21.6 (from memory); the determinant shows these
to be up to 0.4 % off, some low, some high.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ivp, jvp, kvp, yvp

from modewright.geometry.blank import Hold
from modewright.materials.solid import IsotropicSolid
from modewright.modes.solid import solve_modes
from sheet_blanks import circle, sheet

RADIUS_M = 0.05
THIN = 5e-4  # a hundredth of the radius
KINDS = (jvp, yvp, ivp, kvp)
SIGNS = (-1, -1, 1, 1)


def conditions(kind, sign, n, k, r, nu, is_free):
    """Two conditions at radius r of one of the four waves of wave number k, n nodal diameters."""
    value, slope = kind(n, k * r, 0), k * kind(n, k * r, 1)
    if not is_free:
        return value, slope
    # Bending moment and Kirchhoff shear; the Laplacian of each wave is sign k^2 times it.
    laplacian = sign * k**2 * value
    moment = laplacian - (1 - nu) * (slope / r - n**2 * value / r**2)
    twist = (1 - nu) * n**2 / r**2 * (slope - value / r)
    return moment, sign * k**2 * slope - twist


def roots(n, nu, *, inner=None, outer_is_free=True, inner_is_free=True, up_to=9.0):
    """Wave numbers below a limit of a disc or ring with outer radius 1."""
    edges = [(1.0, outer_is_free)] + ([] if inner is None else [(inner, inner_is_free)])
    waves = [0, 2] if inner is None else [0, 1, 2, 3]

    def determinant(k):
        rows = np.array([
            np.array([conditions(KINDS[w], SIGNS[w], n, k, r, nu, is_free) for w in waves]).T
            for r, is_free in edges
        ]).reshape(len(waves), len(waves))  # fmt: skip
        rows = rows / np.abs(rows).max(axis=0)
        return np.linalg.det(rows / np.abs(rows).max(axis=1)[:, None])

    scan = np.arange(0.8, up_to, 0.02)
    values = [determinant(k) for k in scan]
    found = [
        brentq(determinant, low, high, xtol=1e-12)
        for low, high, a, b in zip(scan, scan[1:], values, values[1:], strict=False)
        if a * b < 0
    ]
    return np.array(found) ** 2


def all_roots(nu, count, **edges):
    """Lowest λ² over all numbers of diameters, those with diameters twice."""
    each = [np.repeat(roots(n, nu, **edges), 1 if n == 0 else 2) for n in range(8)]
    return np.sort(np.concatenate(each))[:count]


def metal(nu):
    return IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=nu, density_kg_per_m3=8000)


def solved(blank, nu, count):
    material = metal(nu)
    freq = solve_modes(blank, material, count=count, accuracy="normal").freq_hz
    stiffness = material.plate_modulus_pa * blank.thickness_m**2 / 12
    return 2 * np.pi * freq * RADIUS_M**2 * np.sqrt(material.density_kg_per_m3 / stiffness)


def test_determinants_give_the_printed_tables():
    clamped = all_roots(0.3, 6, outer_is_free=False)
    assert clamped == pytest.approx([10.2158, 21.260, 21.260, 34.877, 34.877, 39.771], rel=3e-5)
    free = all_roots(0.33, 9)
    printed = [5.253, 5.253, 9.084, 12.23, 12.23, 20.52, 20.52, 21.6, 21.6]
    assert free == pytest.approx(printed, rel=4e-3)


@pytest.mark.slow
def test_clamped_disc():
    round_edge = circle(0, 0, RADIUS_M)
    ends = np.roll(round_edge.vertices_m, -1, axis=0)
    hold = Hold(
        edges_m=np.stack([round_edge.vertices_m, ends], axis=1), edge_bulge=round_edge.bulge
    )
    found = solved(replace(sheet(round_edge, THIN), hold=hold), 0.3, 6)
    assert found == pytest.approx(all_roots(0.3, 6, outer_is_free=False), rel=3e-3)


@pytest.mark.slow
def test_free_disc():
    found = solved(sheet(circle(0, 0, RADIUS_M), THIN), 0.33, 7)
    assert found == pytest.approx(all_roots(0.33, 7), rel=6e-3)


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.2, 0.7])
def test_free_ring(share):
    blank = sheet(circle(0, 0, RADIUS_M), THIN, holes=(circle(0, 0, share * RADIUS_M),))
    found = solved(blank, 0.3, 6)
    assert found == pytest.approx(all_roots(0.3, 6, inner=share), rel=8e-3)


@pytest.mark.slow
def test_ring_clamped_on_its_hub():
    """Both faces held inside a circle: the sheet within is still."""
    blank = sheet(circle(0, 0, RADIUS_M), THIN, areas=(circle(0, 0, 0.4 * RADIUS_M),))
    found = solved(blank, 0.3, 6)
    meant = all_roots(0.3, 6, inner=0.4, inner_is_free=False)
    assert found == pytest.approx(meant, rel=8e-3)
