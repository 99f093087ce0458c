"""Figures of pickup and driver against the numbers of a maker's pocket calculator."""

import numpy as np
import pytest

from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.electromagnet import Armature, BiasedElectromagnet
from modewright.transducers.electronics import VoltageAmplifier
from modewright.transducers.figures import driver_figures, pickup_figures
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.operating_point import find_operating_point
from modewright.transducers.plate import DiscPlate, RectanglePlate
from modewright.transducers.ports import drive_limits
from modewright.transducers.preamp import ChargeAmplifier

SQUARE = RectanglePlate(centre_m=(0.0, 0.0), length_m=0.01, width_m=0.01)
EPSILON_0 = 8.8541878e-12


def _figures(basis, **changes):
    given = {"plate": SQUARE, "gap_m": 0.5e-3, "bias_v": 100.0}
    pickup = CapacitivePickup(**(given | changes))
    point = find_operating_point(basis, (pickup,), (), VoltageAmplifier(), "non-magnetic")
    return pickup_figures(pickup, point.pickup_gaps[0], point.basis, (0.0, 0.0), motion_m=50e-6)


def test_flat_pad_under_a_heavy_spring(make_piston):
    figures = _figures(make_piston(1e6))
    c0 = EPSILON_0 * 1e-4 / 0.5e-3
    share = c0 / (c0 + 10e-12)
    assert figures.capacitance_f == pytest.approx(c0, rel=1e-6)
    assert figures.sensitivity_v_per_m == pytest.approx([100 / 0.5e-3 * share], rel=1e-4)
    assert figures.second_harmonic == pytest.approx([0.05 * (1 - share)], rel=1e-4)
    assert figures.corner_hz == pytest.approx(1 / (2 * np.pi * 1e10 * (c0 + 10e-12)), rel=1e-6)
    assert figures.ktc_noise_v == pytest.approx(np.sqrt(1.380649e-23 * 293.15 / (c0 + 10e-12)))
    assert 0 < figures.phase_deg[0] < 1
    assert figures.fringe_factor == 1
    assert figures.fringe_method == "none"  # no sheet is given, so nobody knows where it ends


def test_ten_gigohm_pad_stands_95_db_above_its_noise(make_piston):
    # A 10 mm square at 0.5 mm and 100 V with 10 pF stray hears 10 um of motion at about 0.3 V; the
    # resistor's noise from 20 Hz up is sqrt(kT/C · 2/pi · atan(f_corner/20 Hz)).
    figures = _figures(make_piston(1e6), bias_resistance_ohm=1e10)
    total_f = EPSILON_0 * 1e-4 / 0.5e-3 + 10e-12
    corner_hz = 1 / (2 * np.pi * 1e10 * total_f)
    kept = 2 / np.pi * (np.arctan(20e3 / corner_hz) - np.arctan(20 / corner_hz))
    resistor_v = np.sqrt(1.380649e-23 * 293.15 / total_f * kept)
    assert figures.noise.contributor_v["bias resistor"] == pytest.approx(resistor_v, rel=1e-4)


def test_flipped_plate_side_of_a_mode_shows_as_half_a_turn(strip):
    pickup = CapacitivePickup(plate=DiscPlate(centre_m=(0.05, 0.0), diameter_m=0.01))
    point = find_operating_point(strip, (pickup,), (), VoltageAmplifier(), "non-magnetic")
    figures = pickup_figures(pickup, point.pickup_gaps[0], point.basis, (0.1, 0.0))
    # The second bending mode moves the middle against the tip; the first does not.
    assert abs(figures.phase_deg[0]) < 10
    assert abs(figures.phase_deg[1]) > 170


def test_charge_amplifier_keeps_noise_of_its_own_capacitor(make_piston):
    amp = ChargeAmplifier(feedback_capacitance_f=4e-12)
    figures = _figures(make_piston(1e6), preamp=amp)
    assert figures.ktc_noise_v == pytest.approx(np.sqrt(1.380649e-23 * 293.15 / 4e-12))


def test_figures_of_drivers(make_piston):
    basis, amplifier = make_piston(1e6), VoltageAmplifier()
    drivers = (
        BiasedElectromagnet(
            name="pole",
            position_m=(0.0, 0.0),
            iron_gap_m=0.0,
            armature=Armature(diameter_m=6e-3, thickness_m=1e-3),
        ),
        MovingCoil(name="coil", position_m=(0.0, 0.0)),
    )
    point = find_operating_point(basis, (), drivers, amplifier, "weakly magnetic")
    pole, coil = (
        driver_figures(
            d,
            action,
            gap,
            drive_limits(d, action, amplifier, float(point.basis.freq_hz[0])),
            float(point.basis.freq_hz[0]),
        )
        for d, action, gap in zip(drivers, point.driver_actions, point.driver_gaps, strict=True)
    )
    pull = 0.1**2 * np.pi * 9e-6 / (8e-7 * np.pi)
    assert pole.pull_n == pytest.approx(pull, rel=1e-3)
    assert pole.stiffness_n_per_m == pytest.approx(-2 * pull / 1e-3, rel=1e-3)
    assert (coil.pull_n, coil.stiffness_n_per_m) == (0.0, 0.0)
    bias_a = 0.1 * 1e-3 / (4e-7 * np.pi) / 500  # current of 500 turns that makes 0.1 T over 1 mm
    assert pole.second_harmonic == pytest.approx(pole.limits.drive / (4 * bias_a), rel=1e-3)
    assert coil.second_harmonic == 0
    # Warmer by 50 K/W times the heat, copper has 0.393 % more resistance per kelvin.
    resistance_ohm = 100 * (1 + 3.93e-3 * 50 * coil.power_w)
    assert coil.power_w == pytest.approx(resistance_ohm * coil.limits.drive**2 / 2)
