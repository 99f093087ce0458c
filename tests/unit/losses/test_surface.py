"""Sampling of a sheet."""

import numpy as np
import pytest

from modewright.geometry.blank import AttachedMass, Outline, Pocket
from modewright.geometry.loop import Loop
from modewright.losses.surface import surface_motion
from modewright.modes.solid import solve_modes
from sheet_blanks import STEEL, strip


def box(x, y, length_m, width_m):
    return Loop.polygon([[x, y], [x + length_m, y], [x + length_m, y + width_m], [x, y + width_m]])


def test_area_mass_and_motion_of_a_strip(make_blank, written_modes):
    surface = surface_motion(make_blank(), written_modes.shapes, 7880.0)
    assert surface.area_m2.sum() == pytest.approx(0.06 * 0.012, rel=1e-9)
    assert surface.mass_kg.sum() == pytest.approx(written_modes.body_mass_kg, rel=1e-9)
    # The written modes are mass-normalised: their kinetic sum is one.
    kinetic = np.sum(surface.normal**2 * surface.mass_kg[:, None], axis=0)
    np.testing.assert_allclose(kinetic, 1.0, rtol=0.02)
    np.testing.assert_allclose(surface.width_m, 0.012, rtol=1e-6)


def test_pocket_hole_and_tip_mass(make_blank, written_modes):
    blank = make_blank(
        outline=Outline(
            outer=make_blank().outline.outer, holes=(box(0.028, -0.002, 0.004, 0.004),)
        ),
        pockets=(Pocket(loop=box(0.005, -0.004, 0.02, 0.008), thickness_m=0.4e-3, side="top"),),
        masses=(
            AttachedMass(
                centre_m=(0.055, 0.0),
                footprint_radius_m=2e-3,
                mass_kg=1e-3,
                height_m=1e-3,
                inertia_kg_m2=(0.0, 0.0, 0.0),
            ),
        ),
    )
    surface = surface_motion(blank, written_modes.shapes, 7880.0, cells=3000)
    sheet = (0.06 * 0.012 - 0.004**2) * 1e-3 - 0.02 * 0.008 * 0.6e-3
    assert surface.mass_kg.sum() == pytest.approx(7880 * sheet + 1e-3, rel=0.01)
    beside_hole = np.argmin(np.hypot(*(surface.points_m - [0.03, 0.004]).T))
    assert surface.width_m[beside_hole] == pytest.approx(0.004, rel=0.02)


def test_bending_and_torsion_have_no_momentum_in_the_plane():
    """The lower face of a thick bar slides as it bends and twists; its middle does not."""
    blank = strip(0.06, 6e-3, 4e-3)
    modes = solve_modes(blank, STEEL, count=6, accuracy="draft")
    surface = surface_motion(blank, modes.shapes, STEEL.density_kg_per_m3)
    share = np.abs(surface.momentum) / np.sqrt(surface.mass_kg.sum())
    for name, momentum in zip(modes.labels, share.T, strict=True):
        if name.startswith("bending"):
            np.testing.assert_allclose(momentum[:2], 0.0, atol=1e-3)
        elif name.startswith("torsion"):
            np.testing.assert_allclose(momentum, 0.0, atol=1e-3)
        else:
            assert np.argmax(momentum) == (1 if name.startswith("lateral") else 0)
