"""Thermal motion of a spring, sqrt(kT/k).

H.-J. Butt and M. Jaschke, Calculation of thermal noise in atomic force microscopy, Nanotechnology 6
(1995) 1-7, evaluated at 293.15 K.
"""

import numpy as np
import pytest

from modewright.modes.basis import ModalBasis
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.gap import EPSILON_0, BiasedGap, Gap
from modewright.transducers.pickup_noise import noise_totals
from modewright.transducers.plate import DiscPlate
from modewright.transducers.preamp import Follower


@pytest.mark.parametrize(
    ("stiffness_n_per_m", "motion_m"), [(1.0, 63.62e-12), (10.0, 20.12e-12), (1000.0, 2.012e-12)]
)
def test_heard_by_a_pickup(stiffness_n_per_m, motion_m):
    freq_hz, gap_m, bias_v = 400.0, 1e-3, 100.0
    mass_kg = stiffness_n_per_m / (2 * np.pi * freq_hz) ** 2
    gap = Gap(
        weight_m2=np.array([1e-4]),
        gap_m=np.array([gap_m]),
        opening=np.array([[1 / np.sqrt(mass_kg)]]),
        per_m=EPSILON_0,
    )
    pickup = CapacitivePickup(
        plate=DiscPlate(centre_m=(0.0, 0.0), diameter_m=1e-2),
        gap_m=gap_m,
        bias_v=bias_v,
        bias_resistance_ohm=1e13,
        stray_capacitance_f=0.0,
        preamp=Follower(bandwidth_hz=1e9),
    )
    basis = ModalBasis(
        freq_hz=np.array([freq_hz]), damping_ratio=np.array([1e-4]), shapes=None, labels=("one",)
    )
    totals = noise_totals(pickup, BiasedGap(name="plate", gap=gap, bias=bias_v), basis)
    volts_per_m = bias_v / gap_m
    heard = totals.contributor_v["thermal motion"] / volts_per_m
    assert heard == pytest.approx(motion_m, rel=3e-4)
