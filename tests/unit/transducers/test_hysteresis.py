"""Rayleigh's parabolas, run through as they stand."""

import numpy as np
import pytest

from modewright.transducers.electromagnet import Armature, BiasedElectromagnet
from modewright.transducers.electronics import CurrentAmplifier
from modewright.transducers.figures import driver_figures
from modewright.transducers.hysteresis import MOST_LAG_RAD, RayleighLag, rayleigh_lag
from modewright.transducers.moving_armature import MovingArmature
from modewright.transducers.ports import drive_limits


def first_harmonic_lag_rad(x):
    """Lag of B behind H for µ = 1 and ν Ĥ = x, by Fourier's integral over both branches."""
    turn = np.linspace(0, 2 * np.pi, 200001)[:-1]
    field = np.cos(turn)
    branch = np.where(np.sin(turn) > 0, 1.0, -1.0)  # falling field: the upper branch
    flux = (1 + x) * field + branch * x / 2 * (1 - field**2)
    return np.angle(np.sum(flux * np.exp(1j * turn)))


@pytest.mark.parametrize("level", [0.05, 0.3, 1.0, 1.5])
def test_lag_is_that_of_the_parabolas(level):
    x_full = 0.4
    lag = RayleighLag(full_drive=0.2, full_lag_rad=first_harmonic_lag_rad(x_full))
    found = lag.at_rad(np.array(level * 0.2))
    assert found == pytest.approx(first_harmonic_lag_rad(x_full * level), rel=1e-4)


def test_law_has_a_largest_lag():
    assert first_harmonic_lag_rad(1e5) == pytest.approx(MOST_LAG_RAD, rel=1e-3)
    near = RayleighLag(full_drive=1.0, full_lag_rad=0.99 * MOST_LAG_RAD)
    assert near.at_rad(np.array(1e6)) < MOST_LAG_RAD


def test_none_given_is_none():
    assert rayleigh_lag(0.1, 0.0) is None
    assert rayleigh_lag(0.0, 0.1) is None


def test_electromagnet_lags_most_where_its_iron_gives_out(strip):
    magnet = BiasedElectromagnet(
        name="pole", position_m=(60e-3, 0.0), iron_gap_m=1.5e-3, hysteresis_lag_rad=0.15,
        armature=Armature(diameter_m=5e-3, thickness_m=1e-3),
    )  # fmt: skip
    biased = magnet.biased_gap(strip.shapes, "non-magnetic")
    action = magnet.action(strip.shapes, biased)
    at_limit = action.lag.at_rad(np.array(action.saturation_current_a))
    assert at_limit == pytest.approx(0.15, rel=1e-9)
    limits = drive_limits(magnet, action, CurrentAmplifier(limit_a=1e-3), 80.0)
    figures = driver_figures(magnet, action, biased, limits, 80.0)
    # Small levels: in proportion, less by what tan and 1 + x bend.
    share = 1e-3 / action.saturation_current_a
    assert 0.9 * share * 0.15 < figures.lag_rad < 1.6 * share * 0.15


def test_armature_must_say_at_which_current():
    faults = list(MovingArmature(position_m=(0.0, 0.0), hysteresis_lag_rad=0.1).problems())
    assert [fault.key for fault in faults] == ["saturation_current"]
