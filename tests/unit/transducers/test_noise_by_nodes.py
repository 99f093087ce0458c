"""Every contributor to the noise within 1 dB of a circuit solved node by node.

Densities of the sources: Nyquist, Phys. Rev. 32 (1928) 110, 4 k T/R; Schottky, Ann. Phys. 362
(1918) 541, 2 q I.
"""

import numpy as np
import pytest

from circuit_by_nodes import charge_circuit, follower_circuit
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.pickup_noise import electrical_noise_v2_per_hz
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.preamp import ChargeAmplifier, Follower

K, Q, T = 1.380649e-23, 1.602176634e-19, 293.15
PLATE = RectanglePlate(centre_m=(0.09, 0.0), length_m=0.01, width_m=0.01)
FREQ_HZ = np.geomspace(1.0, 20e3, 40)
COMMON = {"voltage_noise_corner_hz": 300.0, "input_current_a": 3e-12}
C_F, C_STRAY_F, BIAS_OHM, LEAK_OHM = 1.8e-12, 7e-12, 2e9, 5e9


def within_1_db(found, density_v2, gain):
    off_db = 10 * np.log10(found / (density_v2 * np.abs(gain) ** 2))
    assert np.abs(off_db).max() < 1.0
    # The amplifier's own corner at 1 MHz and the coupling capacitor leave a hundredth of that.
    assert np.abs(off_db).max() < 0.01


@pytest.mark.parametrize("kind", ["follower", "charge amplifier"])
def test_each_contributor(kind):
    if kind == "follower":
        amp = Follower(**COMMON)
        circuit = follower_circuit(C_F, C_STRAY_F, BIAS_OHM, LEAK_OHM)
        inner = "node"
    else:
        amp = ChargeAmplifier(feedback_capacitance_f=2e-12, feedback_resistance_ohm=3e9, **COMMON)
        circuit = charge_circuit(C_F, C_STRAY_F, BIAS_OHM, LEAK_OHM, 2e-12, 3e9)
        inner = "input"
    pickup = CapacitivePickup(
        plate=PLATE,
        preamp=amp,
        bias_resistance_ohm=BIAS_OHM,
        leakage_resistance_ohm=LEAK_OHM,
        stray_capacitance_f=C_STRAY_F,
    )
    found = electrical_noise_v2_per_hz(pickup, C_F, FREQ_HZ, T)

    def gain(**where):
        return np.array([circuit.volts(f, "out", **where) for f in FREQ_HZ])

    into_node, into_input = gain(into="node"), gain(into=inner)
    within_1_db(found["bias resistor"], 4 * K * T / BIAS_OHM, into_node)
    within_1_db(found["board leakage"], 4 * K * T / LEAK_OHM, into_node)
    within_1_db(found["amplifier current"], 1e-30, into_input)
    within_1_db(found["input current"], 2 * Q * 3e-12, into_input)
    within_1_db(found["amplifier voltage"], 5e-9**2 * (1 + 300.0 / FREQ_HZ), gain(source="noise"))
    if kind != "follower":
        within_1_db(found["feedback resistor"], 4 * K * T / 3e9, into_input)


def test_a_leaking_board_takes_its_share_of_the_bias(strip):
    clean = CapacitivePickup(plate=PLATE, bias_resistance_ohm=1e9)
    dirty = CapacitivePickup(plate=PLATE, bias_resistance_ohm=1e9, leakage_resistance_ohm=4e9)
    assert pickup_gap(clean, strip.shapes).bias == 100.0
    # Two resistors in series on 100 V.
    assert pickup_gap(dirty, strip.shapes).bias == pytest.approx(80.0)
