"""Signal and lower corner of both preamplifiers by a circuit solved node by node.

A biased capacitor that changes by dC drives the current V_b dC/dt (Hunt, Electroacoustics, 1954,
ch. 6) into the node.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from circuit_by_nodes import charge_circuit, follower_circuit
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.pickup_signal import (
    bias_corner_rad_s,
    pickup_path,
    volts_per_coordinate,
)
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.preamp import ChargeAmplifier, Follower
from modewright.transducers.stage import path_response

PLATE = RectanglePlate(centre_m=(0.09, 0.0), length_m=0.01, width_m=0.01)
FREQ_HZ = np.geomspace(0.5, 20e3, 25)


@pytest.mark.parametrize("kind", ["follower", "charge amplifier"])
def test_signal_and_corner(strip, kind):
    amp = Follower()
    if kind != "follower":
        amp = ChargeAmplifier(feedback_capacitance_f=2e-12, feedback_resistance_ohm=3e9)
    pickup = CapacitivePickup(
        plate=PLATE,
        preamp=amp,
        bias_resistance_ohm=2e9,
        leakage_resistance_ohm=5e9,
        stray_capacitance_f=7e-12,
    )
    biased = pickup_gap(pickup, strip.shapes)
    c_gap_f = biased.gap.permeance
    circuit = follower_circuit(c_gap_f, 7e-12, 2e9, 5e9)
    if kind != "follower":
        circuit = charge_circuit(c_gap_f, 7e-12, 2e9, 5e9, 2e-12, 3e9)
    # Voltage divider for the bias; dC/dq of the lowest mode from the field.
    current = 2j * np.pi * FREQ_HZ * 100 * 5 / 7 * biased.gap.slope[0]
    expected = np.abs(
        [i * circuit.volts(f, "out", into="plate") for i, f in zip(current, FREQ_HZ, strict=True)]
    )
    path = path_response(pickup_path(pickup, c_gap_f), FREQ_HZ)
    found = np.abs(volts_per_coordinate(pickup, biased)[0] * path)
    assert np.abs(20 * np.log10(found / expected)).max() < 0.1

    def below_3_db(f):
        level, top = (x * abs(circuit.volts(x, "out", into="plate")) for x in (f, 1e4))
        return level / top - np.sqrt(0.5)

    corner_hz = brentq(below_3_db, 0.1, 1e3)
    assert bias_corner_rad_s(pickup, c_gap_f) / (2 * np.pi) == pytest.approx(corner_hz, rel=2e-3)
