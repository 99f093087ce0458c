"""Bars, forks and tapers solved as solids, against beams and rods.

Sources
-------
R. D. Blevins, Formulas for Natural Frequency and Mode Shape, 1979, table 8-1 (clamped at both ends)
and table 8-10 (width tapering to a point: 7.16 for the first mode, from memory; computed again here
with cubic beam elements).
S. P. Timoshenko, Phil. Mag. 41 (1921) 744, with the shear factor of G. R. Cowper, J. Appl. Mech. 33
(1966) 335: free bars of length/thickness 10 and 20.
ASTM E1876, eqs. 1 and 2 (S. Spinner and W. E. Tefft, Proc. ASTM 61 (1961) 1221).
NAFEMS FV5, issue 1989-01-09/1: twisting 71.20 and 213.61 Hz, stretching 125.00 Hz of a bar of 2 m x
2 m x 10 m held at one end; a free bar of twice the length does the same about its still middle.
T. D. Rossing, D. A. Russell and D. E. Brown, On the acoustics of tuning forks, Am. J. Phys. 60
(1992) 620-626: prongs as clamped beams, second over first 6.27.
I. A. Karnovsky and O. I. Lebed, Formulas for Structural Dynamics (beam on an elastic root; the
determinant is set up below).
"""

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.optimize import brentq

from modewright.geometry.loop import Loop
from modewright.materials.solid import IsotropicSolid
from modewright.modes.closed_form import fork_freq_hz, youngs_modulus_of_free_bar_pa
from modewright.modes.closed_form_timoshenko import (
    BeamSection,
    beam_freq_hz,
    rectangle_shear_factor,
)
from modewright.modes.solid import solve_modes
from sheet_blanks import SLENDER, sheet, strip

ALLOY = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.3, density_kg_per_m3=8000)
LENGTH, WIDTH, THICKNESS = 0.1, 2e-3, 0.5e-3
# f = λ² times this for a slender strip.
STRIP_HZ = (
    THICKNESS * np.sqrt(SLENDER.youngs_modulus_pa / SLENDER.density_kg_per_m3 / 12)
    / (2 * np.pi * LENGTH**2)
)  # fmt: skip


def solve(blank, count, material=ALLOY):
    return solve_modes(blank, material, count=count, accuracy="normal")


@pytest.mark.parametrize("slenderness", [10, 20])
def test_free_bar_has_shear_and_rotary_inertia(slenderness):
    thickness = LENGTH / slenderness
    # Not square: bending across the sheet and in its plane would fall together.
    width = 0.6 * thickness
    modes = solve(strip(LENGTH, width, thickness, is_held=False), 6)
    section = BeamSection.rectangle(width, thickness, rectangle_shear_factor(0.3))
    meant = beam_freq_hz(("free", "free"), ALLOY, section, LENGTH, 2)
    end = modes.shapes.displacement(np.array([[0.999 * LENGTH, 0.0]]))[0]
    bends = np.abs(end[2]) > 0.5 * np.linalg.norm(end, axis=0)
    bends &= np.linalg.norm(end, axis=0) > 0.3 * modes.shapes.peak
    found = modes.freq_hz[bends]
    assert found[:2] == pytest.approx(meant, rel=1.5e-3)
    modulus = youngs_modulus_of_free_bar_pa(
        mass_kg=modes.body_mass_kg, freq_hz=found[0], width_m=width, length_m=LENGTH,
        thickness_m=thickness, poisson_ratio=0.3,
    )  # fmt: skip
    assert modulus == pytest.approx(ALLOY.youngs_modulus_pa, rel=2e-3)


def test_strip_clamped_at_both_ends():
    low, high = -WIDTH / 2, WIDTH / 2
    outer = Loop.polygon([(0, low), (LENGTH, low), (LENGTH, high), (0, high)])
    ends = [[(0, low), (0, high)], [(LENGTH, low), (LENGTH, high)]]
    found = solve(sheet(outer, THICKNESS, held=ends), 4, SLENDER).freq_hz
    roots = np.array([4.73004074, 7.85320462, 10.99560784])  # cos λ cosh λ = 1
    assert found[[0, 1, 3]] == pytest.approx(roots**2 * STRIP_HZ, rel=1e-3)
    # The third mode is the first in the plane of the strip, stiffer by its width over thickness.
    lateral = roots[0] ** 2 * STRIP_HZ * WIDTH / THICKNESS
    assert found[2] == pytest.approx(lateral, rel=3e-3)


def test_twisting_and_stretching_of_a_square_bar():
    """FV5 at a hundredth of its size: all frequencies a hundred times higher."""
    modes = solve(strip(0.2, 0.02, 0.02, is_held=False), 12)
    for printed in (71.20, 125.00, 213.61):
        nearest = modes.freq_hz[np.argmin(np.abs(modes.freq_hz - 100 * printed))]
        # As the bar stretches its sides draw in, whose inertia lowers 125 Hz by 0.1 %.
        assert nearest == pytest.approx(100 * printed, rel=2e-3)
    # The polar moment in place of the torsion constant, as in a common reprint, is far off.
    assert np.abs(modes.freq_hz / 7754.2 - 1).min() > 0.02


def tapered_beam(count):
    """ω L² sqrt(ρ A/(E I)) of a beam whose width falls to nothing, by cubic elements."""
    cells = 200
    points, weights = np.polynomial.legendre.leggauss(5)
    h, t = 1 / cells, (points + 1) / 2
    shape = np.array(
        [1 - 3 * t**2 + 2 * t**3, h * (t - 2 * t**2 + t**3), 3 * t**2 - 2 * t**3, h * (t**3 - t**2)]
    )
    curved = np.array([12 * t - 6, h * (6 * t - 4), 6 - 12 * t, h * (6 * t - 2)]) / h**2
    stiffness, mass = np.zeros((2, 2 * cells + 2, 2 * cells + 2))
    for cell in range(cells):
        share = (1 - (cell + t) * h) * weights * h / 2
        at = slice(2 * cell, 2 * cell + 4)
        stiffness[at, at] += (curved * share) @ curved.T
        mass[at, at] += (shape * share) @ shape.T
    free = slice(2, None)
    lowest = (0, count - 1)
    return np.sqrt(
        eigh(stiffness[free, free], mass[free, free], eigvals_only=True, subset_by_index=lowest)
    )


def test_width_that_tapers_to_a_point():
    meant = tapered_beam(2)
    assert meant[0] == pytest.approx(7.16, abs=0.01)
    outer = Loop.polygon([(0, -WIDTH), (LENGTH, 0), (0, WIDTH)])
    held = [[(0, -WIDTH), (0, WIDTH)]]
    modes = solve(sheet(outer, THICKNESS, held=held), 2, SLENDER)
    assert modes.freq_hz == pytest.approx(meant * STRIP_HZ, rel=3e-3)


def elastic_root(turn_share, shift_share, count):
    """Roots λ of a beam on a root with E I/(L k_turn) and E I/(L³ k_shift)."""

    def determinant(root):
        cos, sin, cosh, sinh = np.cos(root), np.sin(root), np.cosh(root), np.sinh(root)
        # Waves cos, sin, cosh, sinh; the spring moment bends and the spring force shears the root.
        turn, shift = turn_share * root, shift_share * root**3
        rows = np.array(
            [
                [turn, 1, -turn, 1],
                [1, -shift, 1, shift],
                [-cos / cosh, -sin / cosh, 1, sinh / cosh],
                [sin / cosh, -cos / cosh, sinh / cosh, 1],
            ]
        )
        return np.linalg.det(rows)

    scan = np.linspace(0.3, 3.2 * count, 400 * count)
    values = [determinant(x) for x in scan]
    pairs = zip(scan, scan[1:], values, values[1:], strict=False)
    return np.array([brentq(determinant, a, b) for a, b, fa, fb in pairs if fa * fb < 0][:count])


@pytest.mark.parametrize("stiffness", [1e13, 1e12])
def test_strip_in_a_root_that_gives_way(stiffness):
    blank = strip(LENGTH, WIDTH, THICKNESS, stiffness=stiffness, shear_ratio=0.8)
    # Springs over the end face: k t³/12 against turning, 0.8 k t against shifting, per width.
    bending = SLENDER.youngs_modulus_pa * THICKNESS**3 / 12
    turn_share = bending / (LENGTH * stiffness * THICKNESS**3 / 12)
    shift_share = bending / (LENGTH**3 * 0.8 * stiffness * THICKNESS)
    rigid = elastic_root(1e-12, 1e-12, 2)
    assert rigid == pytest.approx([1.87510407, 4.69409113], rel=1e-6)
    meant = elastic_root(turn_share, shift_share, 2)
    assert np.all(meant < 0.999 * rigid)
    found = solve(blank, 3, SLENDER).freq_hz[[0, 2]]  # between them lies the first lateral mode
    assert found == pytest.approx(meant**2 * STRIP_HZ, rel=2e-3)


def test_tuning_fork():
    """Prongs of 5 mm x 100 mm that move in the plane of thick stock."""
    prong, slot, base = 5e-3, 6e-3, 15e-3
    wide = 2 * prong + slot
    outer = [(-base, 0), (LENGTH, 0), (LENGTH, prong), (0, prong), (0, prong + slot),
             (LENGTH, prong + slot), (LENGTH, wide), (-base, wide)]  # fmt: skip
    modes = solve(sheet(Loop.polygon(outer), 8e-3), 14)
    tips = np.array([[LENGTH, prong / 2], [LENGTH, wide - prong / 2]])
    one, other = modes.shapes.displacement(tips)[:, 1, :]
    against = (one * other < 0) & (np.minimum(abs(one), abs(other)) > 0.5 * modes.shapes.peak)
    found = modes.freq_hz[against]
    # The crotch gives way: as if the prongs were longer by a part of their thickness.
    shorter, longer = (fork_freq_hz(ALLOY, LENGTH + s * prong, prong) for s in (0.0, 1.0))
    assert longer < found[0] < shorter
    assert found[1] / found[0] == pytest.approx(6.27, rel=2e-2)
