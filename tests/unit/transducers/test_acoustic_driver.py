"""A cone that pushes through air, against its equations solved as they stand and simple limits."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modewright.materials.air import air_at
from modewright.transducers.acoustic_driver import AcousticDriver
from modewright.transducers.air_chamber import leaky_chamber
from modewright.transducers.electronics import CurrentAmplifier, VoltageAmplifier
from modewright.transducers.ports import drive_limits
from modewright.transducers.stage import path_response

AIR = air_at(293.15)
DRIVER = AcousticDriver(name="capsule", position_m=(60e-3, 0.0))
AUDIO_HZ = np.geomspace(20.0, 20e3, 40)


def solved(port, freq_hz, sheet_m, volts):
    """Current, travel of the cone, and force on the sheet, node by node.

    Kirchhoff's laws at coil, cone and chamber; the sheet moves towards the mouth.
    """
    s = 2j * np.pi * freq_hz
    coil, cone, air, bl = port.coil, port.cone, port.chamber, port.force_factor_n_per_a
    impedance = coil.resistance_ohm + s * coil.inductance_h
    impedance += coil.semi_inductance_ohm_per_rthz * np.sqrt(s)
    own = cone.mass_kg * s**2 + cone.friction_ns_per_m * s + cone.stiffness_n_per_m
    leak = air.leak_pa_s_per_m3 + s * air.leak_kg_per_m4
    # Unknown: current, travel of the cone into the chamber, pressure, flow out.
    matrix = np.array(
        [
            [impedance, s * bl, 0, 0],
            [-bl, own, cone.area_m2, 0],
            [0, -s * cone.area_m2, s * air.compliance_m3_per_pa, 1],
            [0, 0, -1, leak],
        ]
    )
    current, travel, pressure, _ = np.linalg.solve(
        matrix, np.array([volts, 0, s * air.mouth_m2 * sheet_m, 0])
    )
    return current, travel, pressure * air.mouth_m2


def test_a_moved_sheet_feels_air_and_cone():
    for freq_hz in (50.0, 600.0, 9e3):
        found = DRIVER.port.stiffness_n_per_m(np.array([freq_hz]), is_closed=True)[0]
        assert found == pytest.approx(solved(DRIVER.port, freq_hz, 1.0, 0.0)[2], rel=1e-9)


def test_a_held_sheet_is_pushed():
    port = DRIVER.port
    path = (*port.current_stages(), *port.mechanics)
    found = port.force_factor_n_per_a * path_response(path, AUDIO_HZ)
    exact = np.array([solved(port, f, 0.0, 1.0)[2] for f in AUDIO_HZ])
    np.testing.assert_allclose(found, exact, rtol=1e-6)


def test_current_of_a_voltage():
    found = path_response(DRIVER.port.current_stages(), AUDIO_HZ)
    exact = np.array([solved(DRIVER.port, f, 0.0, 1.0)[0] for f in AUDIO_HZ])
    np.testing.assert_allclose(found, exact, rtol=1e-6)


def test_closed_chamber_is_a_spring_of_air():
    """ρ c² S²/V (Beranek & Mellow, ch. 4), the cone being held and the rim close to the sheet."""
    tight = replace(DRIVER, gap_m=1e-6, resonance_hz=5e3, moving_mass_kg=1.0)
    found = tight.port.stiffness_n_per_m(np.array([100.0]), is_closed=False)[0]
    spring = AIR.density_kg_per_m3 * AIR.speed_of_sound_m_per_s**2
    spring *= (np.pi * 5e-3**2) ** 2 / 0.3e-6
    assert found.real == pytest.approx(spring, rel=1e-3)


def test_narrow_ring_leaks_as_poiseuille():
    """Radial flow between discs, Δp = 6 µ Q ln(ro/ri)/(π g³): Bird, Stewart & Lightfoot."""
    chamber = leaky_chamber(AIR, 1e-7, 10e-3, 0.2e-3, 2e-3)
    expected = 6 * AIR.viscosity_pa_s * np.log(7 / 5) / (np.pi * 0.2e-3**3)
    assert chamber.leak_pa_s_per_m3 == pytest.approx(expected, rel=1e-9)


def test_stroke_limits_the_current():
    driver = replace(DRIVER, stroke_m=1e-6)
    action = driver.action(Flat(), None)
    limits = drive_limits(driver, action, CurrentAmplifier(limit_a=10.0), 300.0)
    assert limits.binding == "stroke of the cone"
    # A source of current is one of force: solve with a coil of very much resistance.
    stiff = replace(driver.coil, resistance_ohm=1e9)
    current, travel, _ = solved(replace(driver.port, coil=stiff.at_rest), 300.0, 0.0, 1.0)
    assert limits.drive == pytest.approx(1e-6 * abs(current / travel), rel=1e-6)


def test_most_of_the_push_is_lost_under_the_rim():
    """Far below the chamber's resonance the force is that of the leak: wider gap, less push."""
    wide, narrow = (
        abs(path_response(replace(DRIVER, gap_m=gap).port.mechanics, np.array([300.0]))[0])
        for gap in (1e-3, 0.2e-3)
    )
    assert wide < narrow / 3


@settings(deadline=None, max_examples=60)
@given(
    gap_m=st.floats(5e-5, 3e-3),
    volume_m3=st.floats(1e-8, 1e-5),
    resonance_hz=st.floats(50.0, 3e3),
    freq_hz=st.floats(10.0, 2e4),
    is_closed=st.booleans(),
)
def test_nobody_gets_work_out_of_it(gap_m, volume_m3, resonance_hz, freq_hz, is_closed):
    driver = replace(DRIVER, gap_m=gap_m, chamber_volume_m3=volume_m3, resonance_hz=resonance_hz)
    found = driver.port.stiffness_n_per_m(np.array([freq_hz]), is_closed=is_closed)[0]
    assert found.imag >= -1e-9 * abs(found)
    assert all(np.all(stage.poles_rad_s.real < 0) for stage in driver.port.current_stages())


def test_amplifier_counts_the_moved_cone_in():
    """At its resonance the cone makes a voltage: a voltage amplifier drives less current there."""
    action = DRIVER.action(Flat(), None)
    stages = action.path(VoltageAmplifier())
    assert abs(path_response(stages, np.array([500.0]))[0]) < 1 / 8.0


class Flat:
    """One mode that rises without turning."""

    mode_count = 1

    def displacement(self, points_m):
        return np.broadcast_to(np.array([0.0, 0.0, 1.0])[:, None], (len(points_m), 3, 1))
