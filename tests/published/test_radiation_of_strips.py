"""Sound of small and of long strips without a baffle.

Sources
-------
P. M. Morse and K. U. Ingard, Theoretical Acoustics, McGraw-Hill 1968, sec. 7.1: a compact force F
radiates F^2 k^2/(24 pi rho c) (peak value F); two-dimensional: F^2 k/(16 rho c) per length.
H. Lamb, Hydrodynamics, art. 71: added mass of a strip per length, (pi/4) rho b^2.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_up_surface import along, moving_bar
from modewright.losses.radiation import radiation_loss_factor
from modewright.materials.air import air_at

AIR = air_at(293.15)
RHO, C = AIR.density_kg_per_m3, AIR.speed_of_sound_m_per_s


def strip(length_m, width_m, normal, points):
    x = (np.arange(points) + 0.5) * length_m / points
    return moving_bar(x, along(2, normal(x)[:, None]), width_m)


def test_compact_strip():
    length_m, width_m, freq_hz = 0.02, 2e-3, 200.0
    surface = strip(length_m, width_m, np.ones_like, 20)
    omega = 2 * np.pi * freq_hz
    force = omega * np.pi / 4 * RHO * width_m**2 * length_m
    power = force**2 * (omega / C) ** 2 / (24 * np.pi * RHO * C)
    found = radiation_loss_factor(np.array([freq_hz]), surface, AIR)[0]
    assert found == pytest.approx(2 * power / omega, rel=1e-3)


def test_strip_of_many_wavelengths():
    length_m, width_m, freq_hz = 20.0, 5e-3, 1000.0
    surface = strip(length_m, width_m, np.ones_like, 1500)
    omega = 2 * np.pi * freq_hz
    force_per_m = omega * np.pi / 4 * RHO * width_m**2
    power = force_per_m**2 * (omega / C) / (16 * RHO * C) * length_m
    found = radiation_loss_factor(np.array([freq_hz]), surface, AIR)[0]
    assert found == pytest.approx(2 * power / omega, rel=0.02)


def test_bending_waves_slower_than_sound_cancel():
    def waves(count):
        return lambda x: np.cos(2 * np.pi * count * x / 0.2)

    loud, quiet = (
        radiation_loss_factor(np.array([300.0]), strip(0.2, 5e-3, waves(n), 400), AIR)[0]
        for n in (0, 4)
    )
    assert 0 <= quiet < 1e-3 * loud


def test_wide_strips_stay_below_a_plane_wave():
    """Far above k b = 1 it is weakened as a round rod would be, by half."""
    surface = strip(0.1, 0.05, np.ones_like, 100)
    freq_hz = np.array([15e3])
    limit = 2 * RHO * C * 0.1 * 0.05 / (2 * np.pi * 15e3)
    assert 0.5 * limit < radiation_loss_factor(freq_hz, surface, AIR)[0] <= limit


@given(st.lists(st.floats(-1.0, 1.0), min_size=12, max_size=12), st.floats(20.0, 5000.0))
@settings(max_examples=50)
def test_no_motion_takes_energy_from_the_air(values, freq_hz):
    surface = strip(0.1, 5e-3, lambda _: np.array(values), 12)
    assert radiation_loss_factor(np.array([freq_hz]), surface, AIR)[0] >= -1e-15
