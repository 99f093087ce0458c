"""Moving armature and glued magnet on a body in closed form."""

from dataclasses import replace

import numpy as np
import pytest

from modewright.errors import TransducerError
from modewright.transducers.attachment import GluePad, MagnetPair, StingerRod
from modewright.transducers.coil_section import CoilSection
from modewright.transducers.electronics import CurrentAmplifier, VoltageAmplifier
from modewright.transducers.magnet_coil import MagnetAndCoil
from modewright.transducers.moving_armature import MovingArmature
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.operating_point import find_operating_point
from modewright.transducers.ports import drive_limits, driver_port

ARMATURE = MovingArmature(
    name="arm",
    position_m=(0.03, 0.0),
    force_factor_n_per_a=7.0,
    moving_mass_kg=2e-5,
    resonance_hz=1000.0,
    mechanical_q=20.0,
    coil=CoilSection(resistance_ohm=200.0, inductance_h=0.0),
)
STINGER = StingerRod(diameter_m=0.4e-3, length_m=8e-3)


def _biased(basis, driver, amplifier):
    return find_operating_point(basis, (), (driver,), amplifier, "non-magnetic")


def test_spring_raises_and_friction_damps_a_piston(make_piston):
    basis = make_piston(1000.0)
    point = _biased(basis, ARMATURE, CurrentAmplifier())
    spring = 2e-5 * (2 * np.pi * 1000.0) ** 2
    assert point.basis.freq_hz[0] == pytest.approx(220.0 * np.sqrt(1 + spring / 1000.0), rel=1e-9)
    (shift,) = point.shifts
    assert shift.cause == "arm: spring"
    friction = 2e-5 * 2 * np.pi * 1000.0 / 20.0
    assert shift.loss_factor[0] == pytest.approx(friction * 2 * np.pi * 220.0 / 1000.0, rel=1e-9)


def test_closed_coil_brakes_besides(make_piston):
    basis = make_piston(1000.0)
    shifts = {s.cause: s for s in _biased(basis, ARMATURE, VoltageAmplifier()).shifts}
    braking = 49.0 / 200.0 * 2 * np.pi * 220.0 / 1000.0
    assert shifts["arm: back-EMF"].loss_factor[0] == pytest.approx(braking, rel=1e-9)
    assert shifts["arm: back-EMF"].cents[0] == pytest.approx(0.0, abs=1e-9)


def test_nearer_the_root_it_loads_less(strip):
    """The share of the spring goes with the square of the displacement there."""
    near = replace(ARMATURE, position_m=(0.02, 0.0), contact_diameter_m=1e-4)
    far = replace(ARMATURE, position_m=(0.09, 0.0), contact_diameter_m=1e-4)
    raised = [_biased(strip, d, CurrentAmplifier()).shifts[0].cents[0] for d in (near, far)]
    lifts = strip.shapes.displacement(np.array([[0.02, 0.0], [0.09, 0.0]]))[:, 2, 0]
    assert raised[1] / raised[0] == pytest.approx((lifts[1] / lifts[0]) ** 2, rel=1e-4)


def test_rod_is_as_stiff_as_its_section_and_buckles():
    # E A/l and π² E I/l² by hand: 200 GPa, 0.4 mm, 8 mm.
    assert STINGER.stiffness_n_per_m == pytest.approx(3.1416e6, rel=1e-4)
    assert 2 * STINGER.largest_push_n == pytest.approx(38.76, rel=1e-3)


def test_buckling_and_saturation_limit_the_current(strip):
    thin = StingerRod(diameter_m=0.1e-3, length_m=20e-3)
    driver = replace(ARMATURE, attachment=thin, saturation_current_a=5e-3)
    limits = drive_limits(driver, driver.action(strip.shapes, None), CurrentAmplifier(), 80.0)
    buckling_n = np.pi**2 * 200e9 * np.pi * 1e-16 / 64 / 4e-4
    assert limits.drive_by_cause["attachment"] == pytest.approx(buckling_n / 2 / 7, rel=1e-9)
    assert limits.binding == "attachment"
    assert limits.drive_by_cause["magnetic flux"] == 5e-3


def test_port_has_the_stinger_behind_the_coil(strip):
    driver = replace(ARMATURE, attachment=STINGER)
    action = driver.action(strip.shapes, None)
    for amplifier in (VoltageAmplifier(), CurrentAmplifier()):
        limits = drive_limits(driver, action, amplifier, 80.0)
        port = driver_port(driver, action, amplifier, limits, strip.freq_hz)
        (link,) = port.mechanics
        assert link.response(np.array([1.0]))[0].real == pytest.approx(1.0, rel=1e-3)
        # The armature swings on the rod at √((k + E A/l)/m).
        swing = np.sqrt((3.1416e6 + 789.6) / 2e-5)
        assert np.abs(link.poles_rad_s) == pytest.approx(swing, rel=1e-4)


def test_stinger_that_swings_among_the_modes_is_named(strip):
    soft = StingerRod(diameter_m=0.05e-3, length_m=0.1, youngs_modulus_pa=1e9)
    with pytest.raises(TransducerError, match="fewer modes") as fault:
        _biased(strip, replace(ARMATURE, attachment=soft), CurrentAmplifier())
    assert fault.value.key == "drivers[1].attachment"


def test_magnet_is_pushed_by_the_coil_and_is_a_mass(make_piston):
    driver = MagnetAndCoil(position_m=(0.0, 0.0))
    action = driver.action(make_piston(1000.0).shapes, None)
    assert action.force_factor_n_per_drive == pytest.approx(driver.force_factor_n_per_a)
    (mass,) = driver.masses
    assert mass.mass_kg == pytest.approx(7500 * np.pi * 1.5e-3**2 * 1e-3)
    with pytest.raises(TransducerError, match="biased electromagnet"):
        driver.biased_gap(make_piston(1000.0).shapes, "ferromagnetic")
    narrow = replace(driver, outer_diameter_m=1e-3)
    (fault,) = narrow.problems()
    assert fault.key == "outer_diameter"


def test_magnet_pair_leaves_a_mass_and_parts(strip):
    pair = MagnetPair(holding_force_n=0.4, sheet_mass_kg=3e-5, stiffness_n_per_m=4e6)
    driver = replace(ARMATURE, attachment=pair)
    (mass,) = driver.masses
    assert mass.mass_kg == pytest.approx(5e-5)
    limits = drive_limits(driver, driver.action(strip.shapes, None), CurrentAmplifier(), 80.0)
    assert limits.drive_by_cause["attachment"] == pytest.approx(0.2 / 7.0)


def test_pad_under_a_coil_takes_the_share_of_its_strain(make_piston):
    """Loss factor times the share of energy in the pad, strained by the inertia on it."""
    pad = GluePad(diameter_m=4e-3, thickness_m=0.5e-3, modulus_pa=5e6, loss_factor=0.2)
    stiffness = 5e6 * np.pi * 4e-6 / 0.5e-3
    assert pad.stiffness_n_per_m == pytest.approx(stiffness)
    assert pad.largest_push_n == pytest.approx(np.pi * 4)
    coil = MovingCoil(position_m=(0.0, 0.0), mass_kg=0.2e-3, attachment=pad)
    (shift,) = _biased(make_piston(1000.0), coil, CurrentAmplifier()).shifts
    inertia = 0.2e-3 * (2 * np.pi * 220.0) ** 2
    strain = inertia / abs(stiffness * (1 + 0.2j) - inertia)
    assert shift.loss_factor[0] == pytest.approx(0.2 * stiffness * strain**2 / 1000.0, rel=1e-9)


def test_stroke_bounds_the_swing_of_every_mode(strip):
    driver = replace(ARMATURE, stroke_m=30e-6, contact_diameter_m=1e-4)
    swings = driver.action(strip.shapes, None).stroke_swings
    lift = strip.shapes.displacement(np.array([[0.03, 0.0]]))[0, 2]
    assert swings * np.abs(lift) == pytest.approx(30e-6, rel=1e-4)
    assert np.all(np.isinf(ARMATURE.action(strip.shapes, None).stroke_swings))
    coil = MovingCoil(position_m=(0.0, 0.0)).action(strip.shapes, None)
    assert np.all(np.isinf(coil.stroke_swings))
