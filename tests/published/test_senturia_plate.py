"""Parallel plates attracted by a voltage.

S. D. Senturia, Microsystem Design, Kluwer 2001, ch. 6 (lumped pull-in: eq. 6.31) and ch. 16 (kT/C
noise); F. V. Hunt, Electroacoustics, 1954, ch. 6. Numbers evaluated from the printed equations.
"""

import numpy as np
import pytest

from modewright.modes.basis import ModalBasis
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.gap import EPSILON_0, BiasedGap, Gap
from modewright.transducers.pickup_noise import noise_totals
from modewright.transducers.pickup_signal import volts_per_coordinate
from modewright.transducers.plate import DiscPlate, disc_points
from modewright.transducers.preamp import Follower
from modewright.transducers.settle import critical_bias, settle


def _plate(area_m2, gap_m, bias_v, opening=1.0):
    gap = Gap(
        weight_m2=np.array([area_m2]),
        gap_m=np.array([gap_m]),
        opening=np.array([[opening]]),
        per_m=EPSILON_0,
    )
    return BiasedGap(name="plate", gap=gap, bias=bias_v)


def test_round_plate_of_5_mm_at_50_um_and_60_v():
    area = disc_points((0.0, 0.0), 5e-3)
    plate = _plate(area.area_m2, 50e-6, 60.0)
    assert plate.gap.permeance == pytest.approx(13.908e-12, rel=2e-5)
    assert plate.pull_n == pytest.approx(0.50069e-3, rel=1e-5)
    assert plate.stiffness[0, 0] == pytest.approx(-20.028, rel=2e-5)


def test_open_circuit_sensitivity_is_bias_over_gap():
    pickup = CapacitivePickup(
        plate=DiscPlate(centre_m=(0.0, 0.0), diameter_m=10e-3),
        gap_m=50e-6,
        bias_v=60.0,
        stray_capacitance_f=0.0,
    )
    plate = _plate(np.pi * 25e-6, 50e-6, 60.0)
    assert volts_per_coordinate(pickup, plate)[0] == pytest.approx(1.2e6, rel=1e-9)


def test_pull_in_of_one_spring():
    mass_kg, stiffness = 0.01, 100.0
    plate = _plate(1e-4, 100e-6, 1.0, opening=1 / np.sqrt(mass_kg))
    omega = np.array([np.sqrt(stiffness / mass_kg)])
    assert critical_bias(omega, (plate,), 0) == pytest.approx(182.9316, rel=1e-6)


def test_travel_at_pull_in_is_a_third_of_the_gap():
    mass_kg, stiffness, gap_m = 0.01, 100.0, 100e-6
    opening = 1 / np.sqrt(mass_kg)
    bias_v = np.sqrt(8 * stiffness * gap_m**3 / (27 * EPSILON_0 * 1e-4)) * (1 - 1e-9)
    omega = np.array([np.sqrt(stiffness / mass_kg)])
    coordinate = settle(omega, (_plate(1e-4, gap_m, bias_v, opening),))
    assert -opening * coordinate[0] == pytest.approx(gap_m / 3, rel=1e-3)


@pytest.mark.parametrize(
    ("capacitance_f", "noise_v"),
    [(10e-12, 20.352e-6), (18e-12, 15.169e-6), (47e-12, 9.388e-6), (50e-12, 9.102e-6)],
)
def test_kt_over_c(capacitance_f, noise_v):
    pickup = CapacitivePickup(
        plate=DiscPlate(centre_m=(0.0, 0.0), diameter_m=1e-6),
        gap_m=1e-3,
        stray_capacitance_f=capacitance_f,
        bias_resistance_ohm=1e9,
        preamp=Follower(bandwidth_hz=1e12),
    )
    basis = ModalBasis(
        freq_hz=np.array([100.0]), damping_ratio=np.array([1e-3]), shapes=None, labels=("any",)
    )
    totals = noise_totals(
        pickup, _plate(1e-18, 1e-3, 100.0), basis, temperature_k=300.0, band_hz=(1e-5, 1e7)
    )
    assert totals.contributor_v["bias resistor"] == pytest.approx(noise_v, rel=1e-4)
