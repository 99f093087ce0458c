"""Thermoelastic damping from the strain of solid elements.

Source
------
R. Lifshitz and M. L. Roukes, Phys. Rev. B 61 (2000) 5600-5609, eq. 36: Q^-1 = (E alpha^2 T/(rho
c)) f(xi) for a slender beam. A narrow strip is such a beam; a twisted one has no dilatation.
"""

import numpy as np
import pytest

from modewright.geometry.blank import Blank, Hold, NamedPoint, Outline
from modewright.geometry.loop import Loop
from modewright.losses.settings import LossSettings
from modewright.losses.surface import surface_motion
from modewright.losses.thermoelastic import bending_in_plane, relaxation, thermoelastic_loss_factor
from modewright.losses.total import loss_body, loss_shares
from modewright.materials.table import material_named
from modewright.modes.solid import solve_modes

METAL = material_named("brass C26000")


def strip(width_m):
    outer = [[0, -width_m / 2], [0.06, -width_m / 2], [0.06, width_m / 2], [0, width_m / 2]]
    return Blank(
        outline=Outline(outer=Loop.polygon(outer)),
        thickness_m=0.8e-3,
        hold=Hold(edges_m=np.array([[[0.0, -width_m / 2], [0.0, width_m / 2]]])),
        named_points=(NamedPoint(name="tip", point_m=(0.06, 0.0)),),
    )


def slender_loss(freq_hz, thickness_m=0.8e-3):
    heat = METAL.density_kg_per_m3.value * METAL.specific_heat_j_per_kg_per_k.value
    strength = METAL.youngs_modulus_pa.value * METAL.expansion_per_k.value**2 * 293.15 / heat
    diffusivity = METAL.thermal_conductivity_w_per_m_per_k.value / heat
    return strength * relaxation(thickness_m * np.sqrt(np.pi * freq_hz / diffusivity))


def test_narrow_strip_is_a_slender_beam():
    modes = solve_modes(strip(1.2e-3), METAL.solid, count=4, accuracy="fine")
    bending = [i for i, label in enumerate(modes.labels) if label.startswith("bending")]
    assert len(bending) >= 2
    loss = thermoelastic_loss_factor(modes.freq_hz, modes.bending, METAL)
    for i in bending:
        assert loss[i] == pytest.approx(slender_loss(modes.freq_hz[i]), rel=0.02)


def test_wide_strip_lies_between_beam_and_cylinder_and_twist_loses_little():
    modes = solve_modes(strip(20e-3), METAL.solid, count=4, accuracy="normal")
    loss = thermoelastic_loss_factor(modes.freq_hz, modes.bending, METAL)
    ratio = dict(zip(modes.labels, loss / slender_loss(modes.freq_hz), strict=True))
    nu = METAL.poisson_ratio.value
    assert 1.0 < ratio["bending 1"] < (1 + nu) / (1 - nu)
    # What is left comes from the clamp, which holds the warping and so bends the twisted strip.
    assert ratio["torsion 1"] < 0.25


def test_all_losses_of_a_solved_strip():
    blank = strip(12e-3)
    modes = solve_modes(blank, METAL.solid, count=6, accuracy="draft")
    surface = surface_motion(blank, modes.shapes, METAL.density_kg_per_m3.value)
    # Mass-normalised modes that move along z alone hold unit kinetic energy in it.
    kinetic = np.sum(surface.normal**2 * surface.mass_kg[:, None], axis=0)
    for label, share in zip(modes.labels, kinetic, strict=True):
        if label.startswith("bending"):
            assert share == pytest.approx(1.0, abs=0.02)
    shares = loss_shares(loss_body(blank, modes, METAL, LossSettings()))
    # Common practice: a brass reed of this size in still air rings with a Q of some hundreds.
    assert 300 < 1 / (2 * shares.damping_ratio[0]) < 2000


def test_bending_in_the_plane_is_that_of_a_beam_as_thick_as_the_sheet_is_wide():
    blank = strip(2e-3)
    modes = solve_modes(blank, METAL.solid, count=4, accuracy="draft")
    surface = surface_motion(blank, modes.shapes, METAL.density_kg_per_m3.value)
    strain = bending_in_plane(modes.freq_hz, surface, METAL.poisson_ratio.value)
    loss = thermoelastic_loss_factor(modes.freq_hz, strain, METAL)
    lateral = modes.labels.index("lateral 1")
    freq_hz = modes.freq_hz[lateral]
    assert loss[lateral] == pytest.approx(slender_loss(freq_hz, 2e-3), rel=0.05)
    across = modes.labels.index("bending 1")
    assert loss[across] < 1e-3 * slender_loss(modes.freq_hz[across])
