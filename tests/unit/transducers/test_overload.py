"""Recovery after a strike against the circuit integrated in time (scipy.integrate)."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.overload import (
    Ringing,
    clamp_at_output_v,
    overload_after,
    strike_ringing,
)
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.preamp import ChargeAmplifier, Follower

PLATE = RectanglePlate(centre_m=(0.09, 0.0), length_m=0.01, width_m=0.005)
C_F = 2e-12
RINGING = Ringing(
    freq_hz=np.array([196.0, 830.0]),
    decay_rate_per_s=np.array([9.0, 25.0]),
    volts_v=np.array([6.0, 3.0]),
)


def simulated_s(ringing, tau_s, range_v, upper_v, lower_v, until_s):
    """Node of a follower with a resistor and stiff diodes: v = s - q, q' = (v/R + i_d)/C."""
    diode_s = 2e-6

    def node(t, q):
        v = ringing.at(np.atleast_1d(t)) - q
        return v / tau_s + (np.maximum(v - upper_v, 0) - np.maximum(-v - lower_v, 0)) / diode_s

    time_s = np.arange(0.0, until_s, 5e-5)
    found = solve_ivp(
        node, (0.0, until_s), [0.0], method="LSODA", t_eval=time_s, max_step=1e-4, rtol=1e-6
    )
    outside = np.abs(ringing.at(time_s) - found.y[0]) > range_v
    return time_s[outside].max()


@pytest.mark.parametrize("diodes", ["both sides", "one side", "none"])
def test_follower(diodes):
    pickup = CapacitivePickup(
        plate=PLATE,
        bias_resistance_ohm=1e10,
        stray_capacitance_f=10e-12,
        preamp=Follower(full_scale_v=2.0, diodes=diodes, clamp_v=2.5),
    )
    found = overload_after(pickup, C_F, RINGING)
    assert found.largest_v == pytest.approx(9.0)
    assert found.time_constant_s == pytest.approx(0.12)
    upper = np.inf if diodes == "none" else 2.5
    lower = 2.5 if diodes == "both sides" else np.inf
    expected = simulated_s(RINGING, 0.12, 2.0, upper, lower, 0.6)
    # One swing of the lower mode either way.
    assert found.recovery_s == pytest.approx(expected, abs=1 / 196)


def test_diodes_on_one_side_hold_the_node_off():
    pickup = CapacitivePickup(plate=PLATE, preamp=Follower(full_scale_v=2.0, diodes="one side"))
    one = overload_after(pickup, C_F, RINGING).recovery_s
    both = replace(pickup, preamp=replace(pickup.preamp, diodes="both sides"))
    assert one > overload_after(both, C_F, RINGING).recovery_s + 1 / 196


def test_nothing_happens_within_the_range():
    assert overload_after(CapacitivePickup(plate=PLATE), C_F, RINGING).recovery_s == 0.0


def test_a_sound_that_never_fits_is_told():
    for_ever = replace(RINGING, freq_hz=np.array([5.0, 6.0]), decay_rate_per_s=np.full(2, 1e-6))
    pickup = CapacitivePickup(plate=PLATE, preamp=Follower(full_scale_v=1.0))
    assert overload_after(pickup, C_F, for_ever).recovery_s is None


def test_charge_amplifier_lets_its_input_go():
    """Charge conservation: beyond the range it lifts all three capacitances side by side."""
    amp = ChargeAmplifier(feedback_capacitance_f=1e-12, full_scale_v=5.0, clamp_v=0.6)
    pickup = CapacitivePickup(plate=PLATE, preamp=amp, stray_capacitance_f=10e-12)
    charge_c = 5.0 * 1e-12 + 0.6 * (1e-12 + 10e-12 + C_F)
    assert clamp_at_output_v(pickup, C_F) == pytest.approx(charge_c / 1e-12)


@pytest.mark.parametrize("freq_hz", [200.0, 1000.0, 1700.0])
def test_a_push_is_its_fourier_transform(freq_hz):
    """Duhamel's integral of an undamped mode over the push, by quadrature."""
    width_s, omega = 1e-3, 2 * np.pi * freq_hz

    def push(t):
        return 0.2 * (1 - np.cos(2 * np.pi * t / width_s)) / 2

    sine, cosine = (
        quad(lambda t, wave=wave: push(t) * wave(omega * t), 0, width_s)[0]
        for wave in (np.sin, np.cos)
    )
    found = strike_ringing(
        np.array([3.0]),
        np.array([5.0]),
        np.array([freq_hz]),
        np.zeros(1),
        force_n=0.2,
        width_s=1e-3,
    )
    assert abs(found.volts_v[0]) == pytest.approx(15.0 * np.hypot(sine, cosine) / omega, rel=1e-6)


def simulated_charge_s(ringing, amp, node_f, until_s):
    """Charge amplifier of gain 1e5 that clips, its input clamped by stiff diodes on both sides."""
    total_f, gain, diode_ohm = node_f + amp.feedback_capacitance_f, 1e5, 1e5
    feedback_f = amp.feedback_capacitance_f

    def states(t, lost_c):
        charge = ringing.at(np.atleast_1d(t)) * feedback_f - lost_c
        out = np.clip(-charge / (feedback_f + total_f / gain), -amp.full_scale_v, amp.full_scale_v)
        return (charge + feedback_f * out) / total_f, out

    def flow(t, lost_c):
        node, out = states(t, lost_c)
        diodes = np.maximum(node - amp.clamp_v, 0) - np.maximum(-node - amp.clamp_v, 0)
        return (node - out) / amp.feedback_resistance_ohm + diodes / diode_ohm

    time_s = np.arange(0.0, until_s, 5e-5)
    found = solve_ivp(
        flow,
        (0.0, until_s),
        [0.0],
        method="LSODA",
        t_eval=time_s,
        max_step=1e-4,
        rtol=1e-6,
        atol=1e-17,
    )
    out = states(time_s, found.y[0])[1]
    return time_s[np.abs(out) > 0.999 * amp.full_scale_v].max()


@pytest.mark.parametrize("resistance_ohm", [1e10, 1e11])
@pytest.mark.parametrize("clamp_v", [0.05, 0.6])
def test_charge_amplifier(clamp_v, resistance_ohm):
    amp = ChargeAmplifier(
        feedback_capacitance_f=2e-12,
        feedback_resistance_ohm=resistance_ohm,
        full_scale_v=2.0,
        clamp_v=clamp_v,
    )
    pickup = CapacitivePickup(plate=PLATE, preamp=amp, stray_capacitance_f=10e-12)
    found = overload_after(pickup, C_F, RINGING)
    expected = simulated_charge_s(RINGING, amp, 10e-12 + C_F, 0.6)
    assert found.recovery_s == pytest.approx(expected, abs=1.1 / 196)
