"""Sound of bodies with volume: they displace air as well as drag it along.

Sources
-------
P. M. Morse and K. U. Ingard, Theoretical Acoustics, McGraw-Hill 1968, sec. 7.1: a compact dipole
of force F radiates F^2 k^2/(24 pi rho c) (peak value F); its force is added plus displaced mass
times acceleration.
H. Lamb, Hydrodynamics, art. 68: added mass of a cylinder, that displaced; art. 92: of a sphere,
half that displaced.
L. Cremer and M. Heckl, Structure-Borne Sound, ch. VI (from memory): a long cylinder of radius a
that swings takes 2 rho c/(k |H1'(ka)|^2) per length.
"""

import numpy as np
import pytest
from scipy.special import h1vp

from made_up_surface import along, moving_bar
from modewright.geometry.blank import Blank, Outline
from modewright.geometry.loop import Loop
from modewright.geometry.solid_shape import TurnedRod
from modewright.losses.air_drag import air_drag_reaction
from modewright.losses.radiation import radiation_loss_factor
from modewright.losses.surface import surface_motion
from modewright.materials.air import air_at
from modewright.modes.solid import solve_modes
from sheet_blanks import STEEL, strip

AIR = air_at(293.15)
RHO, C = AIR.density_kg_per_m3, AIR.speed_of_sound_m_per_s


def compact(moved_kg, freq_hz):
    """Loss factor for unit modal displacement."""
    omega = 2 * np.pi * freq_hz
    return 2 * (moved_kg * omega) ** 2 * (omega / C) ** 2 / (24 * np.pi * RHO * C) / omega


def rod(axis, length_m, points, diameter_m=0.02):
    x = (np.arange(points) + 0.5) * length_m / points
    motion = along(axis, np.ones((points, 1)))
    return moving_bar(x, motion, diameter_m, thickness_m=np.pi / 4 * diameter_m, is_round=True)


@pytest.mark.parametrize("axis", [1, 2])
def test_compact_rod(axis):
    found = radiation_loss_factor(np.array([50.0]), rod(axis, 0.3, 30), AIR)[0]
    assert found == pytest.approx(compact(2 * RHO * np.pi * 0.01**2 * 0.3, 50.0), rel=0.01)


@pytest.mark.parametrize("axis", [1, 2])
@pytest.mark.parametrize("ka", [0.1, 0.7, 1.5])
def test_long_cylinder_of_any_size_against_the_wavelength(axis, ka):
    length_m, number = 60 / (ka / 0.01), ka / 0.01
    found = radiation_loss_factor(
        np.array([number * C / (2 * np.pi)]), rod(axis, length_m, 1000), AIR
    )[0]
    resistance = 2 * RHO * C / (number * abs(h1vp(1, ka)) ** 2) * length_m
    assert found == pytest.approx(resistance / (number * C), rel=0.05)


class Even:
    """All moves alike along one axis."""

    mode_count = 1

    def __init__(self, axis):
        self.axis = axis

    @property
    def middle(self):
        return self

    def displacement(self, points_m):
        return along(self.axis, np.ones((len(points_m), 1)))


@pytest.mark.parametrize(("axis", "least", "most"), [(0, 0.4, 0.5), (1, 1.0, 1.8), (2, 1.0, 1.8)])
def test_sphere_within_a_factor(axis, least, most):
    """The worst body for bars of local width: it drags more across and nothing along."""
    radius_m = 0.01
    turns = np.linspace(0, np.pi, 41)[1:-1]
    solid = TurnedRod(places_m=radius_m * (1 - np.cos(turns)), radii_m=radius_m * np.sin(turns))
    upper = np.stack([solid.places_m, solid.radii_m], axis=-1)
    outline = Loop.polygon(np.concatenate([upper[::-1], upper * np.array([1.0, -1.0])]))
    blank = Blank(
        outline=Outline(outer=outline), thickness_m=2 * radius_m, named_points=(), solid=solid
    )
    surface = surface_motion(blank, Even(axis), 1.0)
    exact = compact(1.5 * RHO * 4 / 3 * np.pi * radius_m**3, 100.0)
    found = radiation_loss_factor(np.array([100.0]), surface, AIR)[0]
    assert least < found / exact < most


def test_lateral_bending_of_a_square_bar_loses_to_the_air_what_bending_does():
    blank = strip(0.06, 2e-3, 2e-3)
    modes = solve_modes(blank, STEEL, count=2, accuracy="draft")
    assert set(modes.labels) == {"bending 1", "lateral 1"}
    surface = surface_motion(blank, modes.shapes, STEEL.density_kg_per_m3)
    sound = radiation_loss_factor(modes.freq_hz, surface, AIR)
    assert sound[0] == pytest.approx(sound[1], rel=0.1)
    drag = air_drag_reaction(modes.freq_hz, surface, AIR)
    # In the plane, the shear along the faces is counted beside the edges that push.
    assert drag.imag[0] == pytest.approx(drag.imag[1], rel=0.25)
    assert 0.9 < max(drag.real) / min(drag.real) < 2.0
