"""Coil stages against the impedance with the true square root of s."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modewright.transducers.coil import Coil, coil_current_stages
from modewright.transducers.mover import TwoPort
from modewright.transducers.stage import path_response

AUDIO_HZ = np.geomspace(20.0, 20e3, 300)


@given(
    resistance_ohm=st.floats(1.0, 500.0),
    inductance_h=st.floats(1e-5, 5e-2),
    semi=st.floats(0.0, 5.0),
)
@settings(max_examples=40, deadline=None)
def test_stages_follow_the_impedance(resistance_ohm, inductance_h, semi):
    coil = Coil(
        resistance_ohm=resistance_ohm, inductance_h=inductance_h, semi_inductance_ohm_per_rthz=semi
    )
    s = 2j * np.pi * AUDIO_HZ
    impedance = resistance_ohm + s * inductance_h + semi * np.sqrt(s)
    ratio = path_response(coil_current_stages(coil), AUDIO_HZ) * impedance
    assert np.abs(np.abs(ratio) - 1).max() < 0.01
    assert np.degrees(np.abs(np.angle(ratio))).max() < 0.6


def test_plain_coil_is_exact():
    coil = Coil(resistance_ohm=100.0, inductance_h=5e-3, semi_inductance_ohm_per_rthz=0.0)
    phase = np.degrees(np.angle(path_response(coil_current_stages(coil), np.array([440.0]))))
    assert phase == pytest.approx([-np.degrees(np.arctan(2 * np.pi * 440 * 5e-3 / 100))])


def test_coil_without_inductance_is_a_resistance():
    coil = Coil(resistance_ohm=8.0, inductance_h=0.0, semi_inductance_ohm_per_rthz=0.0)
    assert path_response(coil_current_stages(coil), AUDIO_HZ) == pytest.approx(1 / 8)


@given(
    resistance_ohm=st.floats(0.1, 500.0),
    inductance_h=st.floats(0.0, 5e-2),
    semi=st.floats(0.0, 5.0),
)
@settings(max_examples=40, deadline=None)
def test_closed_circuit_only_takes_energy(resistance_ohm, inductance_h, semi):
    coil = Coil(
        resistance_ohm=resistance_ohm, inductance_h=inductance_h, semi_inductance_ohm_per_rthz=semi
    )
    freq_hz = np.geomspace(0.1, 1e6, 200)
    port = TwoPort(coil=coil, force_factor_n_per_a=1.0, mover=None)
    assert np.all(port.stiffness_n_per_m(freq_hz, is_closed=True).imag > 0)


def test_motion_makes_the_current_of_its_voltage():
    coil = Coil(resistance_ohm=50.0, inductance_h=2e-3, semi_inductance_ohm_per_rthz=0.4)
    current = path_response(coil_current_stages(coil), AUDIO_HZ)
    port = TwoPort(coil=coil, force_factor_n_per_a=3.0, mover=None)
    rate = port.stiffness_n_per_m(AUDIO_HZ, is_closed=True)
    # Velocity v makes 3 v volts, their current 3 times its newtons; the chain errs by 1 %.
    assert np.abs(rate / (9 * 2j * np.pi * AUDIO_HZ * current) - 1).max() < 0.01


def test_slow_eddy_currents_are_a_stage_of_their_own():
    coil = Coil(resistance_ohm=100.0, inductance_h=5e-3, semi_inductance_ohm_per_rthz=1.0)
    main, slow = coil_current_stages(coil)
    assert (main.name, slow.name) == ("coil", "eddy currents")
    assert np.abs(slow.poles_rad_s).max() < 2 * np.pi * 1500
