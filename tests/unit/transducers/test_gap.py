"""One energy: forces, stiffness and signals against its numerical derivatives and exact limits."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modewright.errors import GeometryError, TransducerError
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.coil import Coil
from modewright.transducers.coil_action import CoilAction
from modewright.transducers.coil_section import CoilSection
from modewright.transducers.gap import (
    EPSILON_0,
    MU_0,
    BiasedGap,
    Gap,
    normal_displacement,
    tilted_gap_m,
)
from modewright.transducers.mover import TwoPort
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.pickup_signal import (
    gap_nonlinearity,
    pickup_reaction,
    second_harmonic_per_m,
    volts_per_coordinate,
)
from modewright.transducers.plate import PolygonPlate, RectanglePlate, polygon_points
from modewright.transducers.preamp import ChargeAmplifier, Follower

SQUARE = RectanglePlate(centre_m=(0.09, 0.0), length_m=0.01, width_m=0.01)


def _pickup(**changes):
    given_fields = {"plate": SQUARE, "gap_m": 0.4e-3, "bias_v": 150.0, "tilt_x": 0.02}
    return CapacitivePickup(**(given_fields | changes))


def _co_energy_j(biased, coordinate):
    return biased.bias**2 / 2 * biased.moved(coordinate).gap.permeance


def test_force_and_stiffness_are_derivatives_of_the_co_energy(strip):
    biased = pickup_gap(_pickup(), strip.shapes)
    rest = np.array([-2e-6, 1e-6, 5e-7, -3e-7])
    moved, step = biased.moved(rest), 1e-8
    for mode, unit in enumerate(np.eye(4)):
        change = _co_energy_j(biased, rest + step * unit) - _co_energy_j(biased, rest - step * unit)
        assert moved.force[mode] == pytest.approx(change / (2 * step), rel=1e-6)
        forces = [biased.moved(rest + sign * step * unit).force for sign in (1, -1)]
        slope = (forces[0] - forces[1]) / (2 * step)
        assert moved.stiffness[mode] == pytest.approx(-slope, rel=1e-6)
    assert moved.stiffness == pytest.approx(moved.stiffness.T)


def test_tilted_plate_is_the_analytic_wedge():
    area = polygon_points(np.array([[0.0, 0.0], [0.01, 0.0], [0.01, 0.01], [0.0, 0.01]]))
    gap_m = tilted_gap_m(area, 0.4e-3, (0.05, 0.0), area.centroid_m)
    wedge = EPSILON_0 * 0.01 / 0.05 * np.log((0.4e-3 + 0.25e-3) / (0.4e-3 - 0.25e-3))
    # The plain formula with the gap at the centre is 17 % low.
    assert EPSILON_0 * np.sum(area.weight_m2 / gap_m) == pytest.approx(wedge, rel=1e-5)


def test_quadrature_of_a_slight_wedge_is_exact():
    area = polygon_points(np.array([[0.0, 0.0], [0.01, 0.0], [0.01, 0.01], [0.0, 0.01]]))
    gap_m = tilted_gap_m(area, 1e-3, (0.05, 0.0), area.centroid_m)
    wedge = EPSILON_0 * 0.01 / 0.05 * np.log(1.25 / 0.75)
    assert EPSILON_0 * np.sum(area.weight_m2 / gap_m) == pytest.approx(wedge, rel=1e-10)


def test_cutting_a_plate_in_two_changes_nothing(strip):
    left = PolygonPlate(corners_m=((0.08, -0.005), (0.083, -0.005), (0.087, 0.005), (0.08, 0.005)))
    right = PolygonPlate(corners_m=((0.083, -0.005), (0.09, -0.005), (0.09, 0.005), (0.087, 0.005)))
    whole = PolygonPlate(corners_m=((0.08, -0.005), (0.09, -0.005), (0.09, 0.005), (0.08, 0.005)))
    flat = {"tilt_x": 0.0, "gap_m": 0.3e-3}
    parts = [pickup_gap(_pickup(plate=p, **flat), strip.shapes) for p in (left, right)]
    one = pickup_gap(_pickup(plate=whole, **flat), strip.shapes)
    assert sum(p.gap.permeance for p in parts) == pytest.approx(one.gap.permeance, rel=1e-10)
    assert sum(p.force for p in parts) == pytest.approx(one.force, rel=1e-10)
    assert sum(p.stiffness for p in parts) == pytest.approx(one.stiffness, rel=1e-10)


def test_follower_without_stray_capacitance_does_not_soften(make_piston):
    basis = make_piston(1000.0)
    pickup = _pickup(tilt_x=0.0, stray_capacitance_f=0.0, bias_resistance_ohm=1e15)
    biased = pickup_gap(pickup, basis.shapes)
    net = biased.stiffness + pickup_reaction(pickup, biased).stiffness(basis.freq_hz)
    assert abs(net[0, 0]) < 1e-6 * abs(biased.stiffness[0, 0])


def test_low_bias_resistor_leaves_the_softening_at_constant_voltage(make_piston):
    basis = make_piston(1000.0)
    pickup = _pickup(tilt_x=0.0, stray_capacitance_f=0.0, bias_resistance_ohm=1.0)
    biased = pickup_gap(pickup, basis.shapes)
    net = biased.stiffness + pickup_reaction(pickup, biased).stiffness(basis.freq_hz)
    mass_kg = 1000.0 / basis.omega_rad_s[0] ** 2
    constant_voltage = -EPSILON_0 * 1e-4 * pickup.bias_v**2 / pickup.gap_m**3
    assert net[0, 0].real * mass_kg == pytest.approx(constant_voltage, rel=1e-6)


def test_charge_amplifier_holds_the_voltage(make_piston):
    pickup = _pickup(preamp=ChargeAmplifier())
    assert pickup_reaction(pickup, pickup_gap(pickup, make_piston(1e3).shapes)) is None


@given(resistance_ohm=st.floats(1e3, 1e13), stray_f=st.floats(0.0, 1e-9))
@settings(max_examples=30, deadline=None)
def test_bias_resistor_only_takes_energy(resistance_ohm, stray_f):
    pickup = _pickup(bias_resistance_ohm=resistance_ohm, stray_capacitance_f=stray_f)
    gap = Gap(
        weight_m2=np.array([1e-4]),
        gap_m=np.array([1e-4]),
        opening=np.array([[3.0]]),
        per_m=EPSILON_0,
    )
    reaction = pickup_reaction(pickup, BiasedGap(name="p", gap=gap, bias=100.0))
    freq_hz = np.geomspace(1.0, 1e5, 40)
    assert np.all(np.diag(reaction.stiffness(freq_hz[:1])).imag >= 0)
    assert np.all(reaction.stage.response(freq_hz).imag >= 0)


@pytest.mark.parametrize("preamp", [Follower(), ChargeAmplifier(feedback_capacitance_f=2e-12)])
def test_signal_and_curvature_follow_the_true_law_of_the_gap(make_piston, preamp):
    basis = make_piston(1000.0)
    pickup = _pickup(tilt_x=0.0, preamp=preamp)
    biased = pickup_gap(pickup, basis.shapes)
    lift_m = np.array([-1e-5, 1e-5])
    c0, c = EPSILON_0 * 1e-4 / pickup.gap_m, EPSILON_0 * 1e-4 / (pickup.gap_m + lift_m)
    if isinstance(preamp, ChargeAmplifier):
        true_v = -pickup.bias_v * (c - c0) / preamp.feedback_capacitance_f
    else:
        stray = pickup.stray_capacitance_f
        true_v = pickup.bias_v * ((c0 + stray) / (c + stray) - 1)
    phi = float(basis.shapes.displacement(np.zeros((1, 2)))[0, 2, 0])
    linear = volts_per_coordinate(pickup, biased)[0] / phi * lift_m
    a, b = gap_nonlinearity(pickup, biased.gap)
    assert linear[1] > 0  # the sheet rises, the voltage rises
    assert linear + a * linear**2 + b * linear**3 == pytest.approx(true_v, rel=5e-5)


def test_second_harmonic_of_a_parallel_gap(make_piston):
    basis = make_piston(1000.0)
    phi = basis.shapes.displacement(np.zeros((1, 2)))[0, 2]
    follower = _pickup(tilt_x=0.0)
    biased = pickup_gap(follower, basis.shapes)
    stray, c0 = follower.stray_capacitance_f, biased.gap.permeance
    shared = second_harmonic_per_m(follower, biased.gap, phi)
    assert shared == pytest.approx([stray / (stray + c0) / (2 * follower.gap_m)], rel=1e-9)
    amplifier = _pickup(tilt_x=0.0, preamp=ChargeAmplifier())
    assert second_harmonic_per_m(amplifier, biased.gap, phi) == pytest.approx(
        [1 / (2 * follower.gap_m)], rel=1e-9
    )


def test_products_survive_a_flip_of_the_mode_shapes(strip):
    pickup, driver_place = _pickup(), np.array([[0.03, 0.0]])
    flip = np.diag([1.0, -1.0, -1.0, 1.0])
    products = []
    for shapes in (strip.shapes, strip.shapes.recombined(flip)):
        heard = volts_per_coordinate(pickup, pickup_gap(pickup, shapes))
        products.append(heard * shapes.displacement(driver_place)[0, 2])
    assert products[0] == pytest.approx(products[1])


def test_unbiased_electromagnet_pushes_at_twice_the_frequency_only():
    gap = Gap(
        weight_m2=np.array([1e-5]), gap_m=np.array([1e-3]), opening=np.array([[1.0]]), per_m=MU_0
    )
    turn = 2 * np.pi * np.arange(64) / 64
    force = [BiasedGap(name="p", gap=gap, bias=50 * np.sin(t)).force[0] for t in turn]
    spectrum = np.abs(np.fft.rfft(force))
    assert spectrum[1] < 1e-12 * spectrum[2]


def test_short_circuited_electromagnet_keeps_its_flux():
    # A coil without resistance holds the flux, and a constant flux pulls alike at every gap: the
    # back-EMF cancels the negative stiffness -2 F/g.
    turns, gap_m = 300, 1e-3
    gap = Gap(
        weight_m2=np.array([2e-5]), gap_m=np.array([gap_m]), opening=np.array([[1.0]]), per_m=MU_0
    )
    biased = BiasedGap(name="pole", gap=gap, bias=0.1 * gap_m / MU_0)
    coil = Coil(
        resistance_ohm=1e-6,
        inductance_h=turns**2 * gap.permeance,
        semi_inductance_ohm_per_rthz=0.0,
    )
    force_per_drive = turns * biased.bias * gap.slope
    action = CoilAction(
        force_per_drive=force_per_drive,
        port=TwoPort(coil=coil, force_factor_n_per_a=float(np.abs(force_per_drive[0])), mover=None),
        winding=CoilSection(),
        saturation_current_a=np.inf,
    )
    back = action.reactions(np.array([1000.0]), is_closed=True)
    net = biased.stiffness + back["back-EMF"]
    assert abs(net[0, 0]) < 1e-6 * abs(biased.stiffness[0, 0])


def test_plate_beyond_the_sheet_is_refused():
    class Off:
        def displacement(self, points_m):
            raise GeometryError(f"{len(points_m)} places: expected a point on the sheet.")

    with pytest.raises(TransducerError, match=r"tip: expected an area.* \d+ places"):
        normal_displacement("tip", Off(), SQUARE.area_points())


def test_tilt_that_shuts_the_gap_is_reported():
    (fault,) = _pickup(gap_m=0.1e-3, tilt_x=0.05).problems()
    assert fault.key == "gap"
    assert "0.25 mm" in fault.expected
