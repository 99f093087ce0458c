"""Disturbances of the example: one chain from its surroundings to decibels."""

import numpy as np
import pytest

from modewright.chain.disturbances import analyse_disturbances
from modewright.transducers.surroundings import Surroundings


def disturbed(found, **room):
    return analyse_disturbances(
        found.placed.design, found.body, found.hearing, found.loop, Surroundings(**room)
    )


def test_signal_is_that_of_the_figures(bench_g3):
    found = disturbed(bench_g3)
    figures = bench_g3.hearing.pickups[0].figures
    expected = np.abs(figures.sensitivity_v_per_m[found.modes]) * found.level_m / np.sqrt(2)
    assert found.signal_v == pytest.approx(expected, rel=1e-9)


def test_feedthrough_by_hand(bench_g3):
    """Ohm's law on the example: Z of its coil, i ω C_x over the admittance of the node."""
    found = disturbed(bench_g3, feedthrough_capacitance_f=1e-14, mutual_inductance_h=1e-9)
    loop, pickup = bench_g3.loop, bench_g3.body.pickups[0]
    omega = 2 * np.pi * found.freq_hz
    action = bench_g3.hearing.operating_point.driver_actions[0]
    z = action.coil.impedance_ohm(found.freq_hz)
    # A current amplifier: the command is the current but for its corner at 100 kHz.
    coil_v = loop.authority.hold_command / np.sqrt(2) * np.abs(z)
    node_f = pickup.stray_capacitance_f + bench_g3.hearing.pickups[0].figures.capacitance_f
    node_y = np.abs(1 / pickup.bias_resistance_ohm + 1j * omega * node_f)
    electric, magnetic = found.feedthrough
    assert electric.bare_v == pytest.approx(omega * 1e-14 * coil_v / node_y, rel=0.01)
    assert magnetic.guarded_v == pytest.approx(magnetic.bare_v)
    assert electric.guarded_v == pytest.approx(electric.bare_v * np.exp(-np.pi), rel=1e-6)
    assert electric.dummy_v == pytest.approx(electric.guarded_v * 0.05, rel=1e-6)
    assert (electric.cancelled_v < 0.1 * electric.dummy_v).all()


def test_harmonic_of_the_mains(bench_g3):
    found = disturbed(bench_g3, mains_freq_hz=50.0)
    assert found.harmonic[0] == 4
    assert found.freq_hz[0] * 2 ** (found.harmonic_cents[0] / 1200) == pytest.approx(200.0)
    assert (np.abs(found.harmonic * 50.0 - found.freq_hz) <= 25.0).all()


def test_what_is_not_given_is_named(bench_g3):
    found = disturbed(bench_g3)
    assert found.steady == ()
    assert len(found.unjudged) == 4
    assert disturbed(bench_g3, ripple_v=1e-3, lead_loop_area_m2=1e-5).unjudged == (
        "hum by the electric field: give electric_field",
        "hum by the magnetic field: give magnetic_field and lead_loop_area",
    )
