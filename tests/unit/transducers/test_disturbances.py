"""Hum, ripple and feedthrough within 0.1 dB of a circuit solved node by node.

Sources of current and voltage from Maxwell's laws in their integral form: charge on a face in a
field, ε0 E A (Gauss); flux through a loop, B A (Faraday). Handbook formulas beside each estimate.
"""

from itertools import product

import numpy as np
import pytest
from scipy.constants import epsilon_0, mu_0
from scipy.special import ellipe, ellipk

from circuit_by_nodes import charge_circuit, follower_circuit
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.disturbances import (
    capacitive_through_v,
    magnetic_through_v,
    steady,
)
from modewright.transducers.guard import Guard
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.preamp import ChargeAmplifier, Follower
from modewright.transducers.stray_coupling import (
    dipole_mutual_inductance_h,
    disc_mutual_capacitance_f,
    guard_residue,
)
from modewright.transducers.surroundings import Surroundings

C_F, C_STRAY_F, BIAS_OHM, LEAK_OHM = 1.8e-12, 7e-12, 2e9, 5e9
PLATE = RectanglePlate(centre_m=(0.09, 0.0), length_m=0.01, width_m=0.005)
FREQ_HZ = np.array([60.0, 196.0, 1200.0, 8000.0])


@pytest.fixture(params=["follower", "charge amplifier"])
def both(request):
    """A pickup and its circuit."""
    if request.param == "follower":
        amp, circuit = Follower(), follower_circuit(C_F, C_STRAY_F, BIAS_OHM, LEAK_OHM)
    else:
        amp = ChargeAmplifier(feedback_capacitance_f=2e-12, feedback_resistance_ohm=3e9)
        circuit = charge_circuit(C_F, C_STRAY_F, BIAS_OHM, LEAK_OHM, 2e-12, 3e9)
    pickup = CapacitivePickup(
        plate=PLATE,
        preamp=amp,
        bias_resistance_ohm=BIAS_OHM,
        leakage_resistance_ohm=LEAK_OHM,
        stray_capacitance_f=C_STRAY_F,
    )
    return pickup, circuit


def off_db(found, expected):
    return np.abs(20 * np.log10(np.asarray(found) / np.abs(expected))).max()


def test_hum_and_ripple(both):
    pickup, circuit = both
    room = Surroundings(
        mains_freq_hz=60.0,
        electric_field_v_per_m=12.0,
        electric_shield_db=20.0,
        magnetic_field_t=0.4e-6,
        lead_loop_area_m2=3e-5,
        ripple_v=5e-3,
        ripple_filter_corner_hz=1.0,
    )
    electric, magnetic, ripple = steady(pickup, C_F, room)
    current = 2 * np.pi * 60 * epsilon_0 * 1.2 * 5e-5
    assert off_db(electric.volts_v, current * circuit.volts(60.0, "out", into="node")) < 0.1
    emf = 2 * np.pi * 60 * 0.4e-6 * 3e-5
    assert off_db(magnetic.volts_v, emf * circuit.volts(60.0, "out", source="lead")) < 0.1
    assert ripple.freq_hz == 120.0
    # The filter as parts of the circuit: 1 megohm and its capacitor between supply and resistor.
    circuit.resistor("raw", "filtered", 1e6)
    circuit.capacitor("filtered", "earth", 1 / (2 * np.pi * 1e6 * 1.0))
    circuit.source("ripple", "raw", "earth")
    circuit.sources = [s for s in circuit.sources if s[0] != "supply"]
    circuit.resistor("filtered", "bias", 1e-3)
    expected = 5e-3 * circuit.volts(120.0, "out", source="ripple")
    assert off_db(ripple.volts_v, expected) < 0.1


def test_nothing_given_is_nothing_judged(both):
    assert steady(both[0], C_F, Surroundings()) == ()


def test_electric_feedthrough(both):
    pickup, circuit = both
    coil_v = np.array([0.1, 0.3, 1.0, 2.0])
    found = capacitive_through_v(pickup, C_F, 5e-15, coil_v, FREQ_HZ)
    circuit.source("winding", "coil", "earth")
    circuit.capacitor("coil", "node", 5e-15)
    expected = [
        v * circuit.volts(f, "out", source="winding") for v, f in zip(coil_v, FREQ_HZ, strict=True)
    ]
    assert off_db(found, expected) < 0.1


def test_magnetic_feedthrough(both):
    pickup, circuit = both
    found = magnetic_through_v(pickup, C_F, 2e-9, np.full(4, 0.05), FREQ_HZ)
    expected = [
        2 * np.pi * f * 2e-9 * 0.05 * circuit.volts(f, "out", source="lead") for f in FREQ_HZ
    ]
    assert off_db(found, expected) < 0.1


def patches(centre_m, radius_m, count):
    """Middles of the squares of a grid on a disc, and the side that gives them its area."""
    side = 2 * radius_m / count
    line = (np.arange(count) + 0.5) * side - radius_m
    inside = [p for p in product(line, line) if np.hypot(*p) < radius_m]
    return np.array(inside) + centre_m, radius_m * np.sqrt(np.pi / len(inside))


@pytest.mark.parametrize("distance_m", [0.02, 0.04])
def test_capacitance_between_discs_against_their_charge(distance_m):
    """Method of moments (Harrington, Field Computation by Moment Methods, 1968, sec. 2-2)."""
    first_m, second_m = 2.5e-3, 4e-3
    groups = [patches((0, 0), first_m, 16), patches((distance_m, 0), second_m, 16)]
    places = np.concatenate([points for points, _ in groups])
    side = np.concatenate([np.full(len(points), length) for points, length in groups])
    apart = np.linalg.norm(places[:, None] - places[None], axis=2)
    # Potential in the middle of a square of unit charge: 4 ln(1 + sqrt 2)/side.
    np.fill_diagonal(apart, side / (4 * np.log(1 + np.sqrt(2))))
    count = len(groups[0][0])
    is_first = np.arange(len(places)) < count
    charge = np.linalg.solve(1 / (4 * np.pi * epsilon_0 * apart), is_first.astype(float))
    expected = -charge[~is_first].sum()
    found = disc_mutual_capacitance_f(np.pi * first_m**2, np.pi * second_m**2, distance_m)
    assert found == pytest.approx(expected, rel=0.12)


def test_mutual_inductance_against_maxwells_two_circles():
    """Maxwell, Treatise, sec. 701, as in Grover, Inductance Calculations, 1946, ch. 11."""
    a, b, d = 2.5e-3, 1.5e-3, 0.03
    k2 = 4 * a * b / ((a + b) ** 2 + d**2)
    k = np.sqrt(k2)
    one_turn = mu_0 * np.sqrt(a * b) * ((2 / k - k) * ellipk(k2) - 2 / k * ellipe(k2))
    found = dipole_mutual_inductance_h(600, np.pi * a**2, np.pi * b**2, d)
    assert found == pytest.approx(600 * one_turn, rel=0.02)


def test_a_guard_lets_less_through_the_wider_it_is():
    """The lowest wave of the Laplace equation between two earthed planes, by finite differences."""
    gap_m, cells = 1.0, 24
    # One column after another: phi'' across, eigenvalue of the second difference.
    across = 2 * np.eye(cells - 1) - np.eye(cells - 1, k=1) - np.eye(cells - 1, k=-1)
    lowest = np.linalg.eigvalsh(across)[0] * cells**2 / gap_m**2
    decay = np.exp(-np.sqrt(lowest) * 2.0)
    assert guard_residue(Guard(width_m=2.0), gap_m) == pytest.approx(decay, rel=0.01)
    assert guard_residue(None, 0.5e-3) == pytest.approx(np.exp(-np.pi))


def test_what_the_loop_leaves():
    room = Surroundings(cancellation_misfit=0.05, cancellation_phase_error_rad=0.0)
    assert room.cancellation_residue == pytest.approx(0.05)
    turned = Surroundings(cancellation_misfit=0.0, cancellation_phase_error_rad=0.1)
    assert turned.cancellation_residue == pytest.approx(2 * np.sin(0.05))  # chord of an angle
