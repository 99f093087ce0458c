"""Noise totals against adaptive integration of independently written densities."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.pickup_noise import (
    electrical_noise_v2_per_hz,
    equivalent_white_noise_v_per_rthz,
    noise_totals,
    signal_to_noise_db,
)
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.preamp import ChargeAmplifier

BOLTZMANN, T = 1.380649e-23, 293.15
PLATE = RectanglePlate(centre_m=(0.09, 0.0), length_m=0.01, width_m=0.01)


def _integral(density):
    edges = np.geomspace(20.0, 20e3, 7)
    return np.sqrt(sum(quad(density, a, b)[0] for a, b in pairwise(edges)))


def test_follower(strip):
    pickup = CapacitivePickup(plate=PLATE, bias_resistance_ohm=1e9)
    biased = pickup_gap(pickup, strip.shapes)
    total_f, r = biased.gap.permeance + pickup.stray_capacitance_f, 1e9

    def low_pass(f):
        return 1 / (1 + (2 * np.pi * f * r * total_f) ** 2)

    found = noise_totals(pickup, biased, strip, temperature_k=T).contributor_v
    resistor = _integral(lambda f: 4 * BOLTZMANN * T * r * low_pass(f))
    current = _integral(lambda f: (1e-15 * r) ** 2 * low_pass(f))
    assert found["bias resistor"] == pytest.approx(resistor, rel=1e-6)
    assert found["amplifier current"] == pytest.approx(current, rel=1e-6)
    assert found["amplifier voltage"] == pytest.approx(5e-9 * np.sqrt(19980.0), rel=1e-3)


def test_charge_amplifier(strip):
    amp = ChargeAmplifier(feedback_capacitance_f=2e-12, feedback_resistance_ohm=1e9)
    pickup = CapacitivePickup(plate=PLATE, preamp=amp, bias_resistance_ohm=3e9)
    biased = pickup_gap(pickup, strip.shapes)
    c_in = biased.gap.permeance + pickup.stray_capacitance_f

    def feedback(f):
        return 1e9 / (1 + 2j * np.pi * f * 1e9 * 2e-12)

    def voltage(f):
        return 5e-9**2 * abs(1 + feedback(f) * (2j * np.pi * f * c_in + 1 / 3e9)) ** 2

    found = noise_totals(pickup, biased, strip, temperature_k=T).contributor_v
    own = _integral(lambda f: 4 * BOLTZMANN * T / 1e9 * abs(feedback(f)) ** 2)
    assert found["feedback resistor"] == pytest.approx(own, rel=1e-6)
    assert found["bias resistor"] == pytest.approx(own / np.sqrt(3), rel=1e-6)
    assert found["amplifier voltage"] == pytest.approx(_integral(voltage), rel=1e-3)
    # High in the band the noise gain is that of the two capacitances.
    high = electrical_noise_v2_per_hz(pickup, biased.gap.permeance, np.array([20e3]), T)
    gain = np.sqrt(high["amplifier voltage"][0]) / 5e-9
    assert gain == pytest.approx(1 + c_in / 2e-12, rel=1e-3)


def test_contributors_add_in_power(strip):
    pickup = CapacitivePickup(plate=PLATE)
    totals = noise_totals(pickup, pickup_gap(pickup, strip.shapes), strip)
    assert totals.total_v**2 == pytest.approx(sum(v**2 for v in totals.contributor_v.values()))


def test_equivalent_density_of_a_white_amplifier(strip):
    pickup = CapacitivePickup(plate=PLATE, bias_resistance_ohm=1e17)
    density = equivalent_white_noise_v_per_rthz(pickup, 1e-12, strip.freq_hz)
    # kT/C noise has retired below the lowest mode; current noise is what is left of the rest.
    current = 1e-15 / (2 * np.pi * strip.freq_hz * 11e-12)
    assert density == pytest.approx(np.sqrt(5e-9**2 + np.mean(current**2)), rel=1e-3)


def test_ten_times_the_motion_is_20_db(strip):
    pickup = CapacitivePickup(plate=PLATE)
    biased = pickup_gap(pickup, strip.shapes)
    reference = strip.shapes.displacement(np.array([[0.1, 0.0]]))[0, 2]
    levels = [signal_to_noise_db(pickup, biased, strip, reference, m, 1e-5) for m in (1e-6, 1e-5)]
    assert levels[1] - levels[0] == pytest.approx(np.full(4, 20.0))
    # The lowest mode over the plate moves nearly like the tip: volts per metre V_b/g · C/(C + C_p).
    share = biased.gap.permeance / (biased.gap.permeance + pickup.stray_capacitance_f)
    rough = 20 * np.log10(pickup.bias_v / pickup.gap_m * share * 1e-6 / np.sqrt(2) / 1e-5)
    assert levels[0][0] == pytest.approx(rough, abs=2.0)
