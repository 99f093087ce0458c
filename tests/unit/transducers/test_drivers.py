"""Electromagnet and moving coil against closed forms."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from modewright.errors import TransducerError
from modewright.transducers.coil import Coil
from modewright.transducers.coil_action import CoilAction
from modewright.transducers.coil_section import CoilSection
from modewright.transducers.driver import (
    SheetSpot,
    attached_masses,
)
from modewright.transducers.electromagnet import Armature, BiasedElectromagnet
from modewright.transducers.electronics import CurrentAmplifier, VoltageAmplifier
from modewright.transducers.heat import (
    heat_limited_current_a,
    peak_heat_share,
    sine_power_w,
    warm_resistance_ohm,
)
from modewright.transducers.mover import TwoPort
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.ports import drive_limits, driver_port

MU_0 = 4e-7 * np.pi
SPOT = Armature(diameter_m=6e-3, thickness_m=1e-3)


def _magnet(**changes):
    given = {
        "position_m": (0.03, 0.0),
        "iron_gap_m": 0.0,
        "armature": SPOT,
        "bias_flux_density_t": 0.1,
    }
    return BiasedElectromagnet(**(given | changes))


def test_pull_force_factor_and_inductance(make_piston):
    basis = make_piston(1000.0)
    magnet = _magnet(turns=400, coil=CoilSection(inductance_h=2e-3))
    area = np.pi * 9e-6
    biased = magnet.biased_gap(basis.shapes, "weakly magnetic")
    action = magnet.action(basis.shapes, biased)
    pull = 0.1**2 * area / (2 * MU_0)
    assert biased.pull_n == pytest.approx(pull, rel=1e-6)
    # F = (M + N i)² µ0 A/(2 g²): dF/di = 2 F N/M.
    assert action.force_factor_n_per_drive == pytest.approx(2 * pull * 400 * MU_0 / 1e-4, rel=1e-6)
    assert action.coil.inductance_h == pytest.approx(2e-3 + MU_0 * 400**2 * area / 1e-3, rel=1e-6)
    # The bias may be doubled or cancelled, no more: 0.1 T g/(µ0 N).
    assert action.saturation_current_a == pytest.approx(0.1 * 1e-3 / (MU_0 * 400), rel=1e-6)


@pytest.mark.parametrize(("side", "sign"), [("above", 1.0), ("below", -1.0)])
def test_pole_pulls_towards_its_side(make_piston, side, sign):
    basis = make_piston(1000.0)
    magnet = _magnet(side=side)
    biased = magnet.biased_gap(basis.shapes, "weakly magnetic")
    assert np.sign(biased.force[0]) == sign
    assert np.sign(magnet.action(basis.shapes, biased).force_per_drive[0]) == sign


def test_iron_in_series_weakens_the_spring(make_piston):
    shapes = make_piston(1000.0).shapes
    plain = _magnet().biased_gap(shapes, "weakly magnetic")
    series = _magnet(iron_gap_m=1e-3).biased_gap(shapes, "weakly magnetic")
    assert series.pull_n == pytest.approx(plain.pull_n, rel=1e-9)
    assert series.stiffness[0, 0] == pytest.approx(plain.stiffness[0, 0] / 2, rel=1e-9)


def test_magnet_in_series_divides_the_force_of_the_current(make_piston):
    """A disc 2 mm long and as wide as the pole, µr 1.05, behind 1 mm of air.

    The flux of the current meets l/µr + g (Fitzgerald, Kingsley & Umans, Electric Machinery, ch. 1,
    magnets as a magnetomotive force behind a reluctance); the flux of the bias is given.
    """
    basis = make_piston(1000.0)
    magnet = _magnet(iron_gap_m=2e-3 / 1.05, turns=400)
    action = magnet.action(basis.shapes, magnet.biased_gap(basis.shapes, "weakly magnetic"))
    area_m2 = np.pi * 9e-6
    reluctance = (1e-3 / area_m2 + 2e-3 / (1.05 * area_m2)) / MU_0
    flux_per_ampere = 400 / reluctance
    # F = Φ²/(2 µ0 A) about Φ = 0.1 T · A.
    assert action.force_factor_n_per_drive == pytest.approx(0.1 * flux_per_ampere / MU_0, rel=1e-6)
    assert action.saturation_current_a == pytest.approx(0.1 * area_m2 / flux_per_ampere, rel=1e-6)


def test_reluctance_of_the_magnet_must_be_given():
    with pytest.raises(TypeError, match="iron_gap_m"):
        BiasedElectromagnet(position_m=(0.03, 0.0))


@pytest.mark.parametrize("magnetism", ["non-magnetic", "weakly magnetic"])
def test_sheet_without_iron_is_refused(make_piston, magnetism):
    with pytest.raises(TransducerError, match=f"{magnetism} sheet.*magnet.*moving coil"):
        _magnet(armature=None).biased_gap(make_piston(1000.0).shapes, magnetism)


def test_ferromagnetic_sheet_needs_no_spot(make_piston):
    shapes = make_piston(1000.0).shapes
    assert _magnet(armature=None).biased_gap(shapes, "ferromagnetic").pull_n > 0


def test_missing_bias_is_refused(make_piston):
    with pytest.raises(TransducerError, match="twice the frequency"):
        _magnet(bias_flux_density_t=0.0).biased_gap(make_piston(1.0).shapes, "ferromagnetic")


def test_bias_above_saturation_of_a_thin_spot_is_reported():
    thin = Armature(diameter_m=6e-3, thickness_m=0.1e-3)
    (fault,) = _magnet(armature=thin).problems()
    assert "0.08 T" in fault.expected  # 1.2 T · 2 t/r
    assert not list(_magnet().problems())


def test_masses_on_the_sheet():
    disc, ring = attached_masses((_magnet(), MovingCoil(position_m=(0.02, 0.0), side="below")))
    assert disc.mass_kg == pytest.approx(7870 * np.pi * 9e-6 * 1e-3)
    assert disc.inertia_kg_m2[2] == pytest.approx(disc.mass_kg * 9e-6 / 2)
    assert (disc.side, ring.side) == ("top", "bottom")
    assert ring.inertia_kg_m2[2] == pytest.approx(0.2e-3 * (4e-3) ** 2)
    assert attached_masses((_magnet(armature=None),)) == ()


def test_moving_coil_pushes_with_its_mean_motion(strip):
    coil = MovingCoil(position_m=(0.03, 0.0), force_factor_n_per_a=2.0, diameter_m=1e-4)
    action = coil.action(strip.shapes, coil.biased_gap(strip.shapes, "non-magnetic"))
    at_point = strip.shapes.displacement(np.array([[0.03, 0.0]]))[0, 2]
    assert action.force_per_drive == pytest.approx(2.0 * at_point, rel=1e-5)


def test_heat_limit_and_power():
    current = heat_limited_current_a(100.0, 50.0, 60.0)
    assert 100.0 * current**2 / 2 * 50.0 == pytest.approx(60.0)


def test_coil_is_warm_when_heat_limits_it():
    # Copper doubles its resistance from 20 °C to 274.5 °C (IEC 60028: 1/0.00393 K more).
    assert warm_resistance_ohm(8.0, 254.45) == pytest.approx(16.0, rel=1e-4)
    coil = MovingCoil(position_m=(0.0, 0.0), coil=CoilSection(resistance_ohm=16.0))
    action = CoilAction(
        force_per_drive=np.array([1.0]),
        port=TwoPort(
            coil=Coil(resistance_ohm=16.0, inductance_h=0.0, semi_inductance_ohm_per_rthz=0.0),
            force_factor_n_per_a=1.0,
            mover=None,
        ),
        winding=CoilSection(resistance_ohm=16.0),
        saturation_current_a=np.inf,
    )
    limits = drive_limits(coil, action, CurrentAmplifier(limit_a=10.0), 80.0)
    # 1.2 W into 50 K/W at 60 K: 16 ohm have become 19.77 ohm.
    assert limits.binding == "heat"
    assert limits.drive == pytest.approx(np.sqrt(2 * 1.2 / (16 * 1.2358)), rel=1e-6)
    assert sine_power_w(limits.drive, 16.0, 50.0) == pytest.approx(1.2, rel=1e-6)


def test_thin_sheet_saturates_at_its_rim(make_piston):
    """0.3 T under a pole of 6 mm crowd to 2.25 T in a rim of 0.2 mm, by conservation of flux."""
    basis = make_piston(1000.0)
    magnet = _magnet(armature=None, bias_flux_density_t=0.3)
    biased = magnet.biased_gap(basis.shapes, "ferromagnetic")
    flux_wb, rim_m2 = 0.3 * np.pi * 3e-3**2, 2 * np.pi * 3e-3 * 0.2e-3
    assert flux_wb / rim_m2 == pytest.approx(2.25)
    for saturation_t, thickness_m, allowed in (
        (1.9, 0.2e-3, 0.0),
        (2.5, 0.2e-3, 2.5 / 2.25 - 1),
        (1.9, 0.4e-3, 1.9 / 1.125 - 1),
        (0.35, 3e-3, 0.35 / 0.3 - 1),  # too thick to crowd
    ):
        sheet = SheetSpot(thickness_m=thickness_m, saturation_t=saturation_t)
        action = magnet.action(basis.shapes, biased, sheet)
        allowed_a = allowed * 0.3 * 1e-3 / (MU_0 * 500)
        assert action.saturation_current_a == pytest.approx(allowed_a, rel=1e-6, abs=1e-12)
    # An armature of its own takes the flux in place of the sheet.
    spotted = _magnet(bias_flux_density_t=0.3)
    thin = SheetSpot(thickness_m=0.1e-3, saturation_t=0.5)
    action = spotted.action(basis.shapes, biased, thin)
    assert action.saturation_current_a == pytest.approx(0.3 * 1e-3 / (MU_0 * 500), rel=1e-6)


def test_current_makes_its_own_second_harmonic(make_piston):
    """Pull (M + N i)² µ0 A/(2 g²) through one period, by its Fourier series."""
    basis = make_piston(1000.0)
    magnet = _magnet(turns=400)
    biased = magnet.biased_gap(basis.shapes, "weakly magnetic")
    action = magnet.action(basis.shapes, biased)
    amplitude_a = 0.6 * action.bias_current_a
    current_a = amplitude_a * np.cos(2 * np.pi * np.arange(64) / 64)
    force_n = [biased.with_bias(biased.bias + 400 * i).pull_n for i in current_a]
    lines = np.abs(np.fft.rfft(force_n)) / 32
    assert lines[1] == pytest.approx(action.force_factor_n_per_drive * amplitude_a, rel=1e-9)
    assert lines[2] / lines[1] == pytest.approx(amplitude_a / (4 * action.bias_current_a), rel=1e-9)


def test_limits_name_what_binds(strip):
    coil = MovingCoil(position_m=(0.03, 0.0), coil=CoilSection(current_limit_a=0.05))
    action = coil.action(strip.shapes, None)
    limits = drive_limits(coil, action, VoltageAmplifier(limit_v=100.0), 80.0)
    impedance = abs(100 + 2j * np.pi * 80 * 5e-3)
    assert limits.binding == "current limit"
    assert limits.command == pytest.approx(0.05 * impedance)
    assert limits.force_n == pytest.approx(0.05)
    weak = drive_limits(coil, action, CurrentAmplifier(limit_a=0.01), 80.0)
    assert (weak.binding, weak.command) == ("amplifier", 0.01)


def test_saturated_iron_is_refused(strip):
    magnet = _magnet()
    biased = magnet.biased_gap(strip.shapes, "weakly magnetic").with_bias(3000.0)
    with pytest.raises(TransducerError, match="more flux than the bias"):
        drive_limits(magnet, magnet.action(strip.shapes, biased), VoltageAmplifier(), 80.0)


def test_port_of_either_drive(strip):
    coil = MovingCoil(position_m=(0.03, 0.0))
    action = coil.action(strip.shapes, None)
    lowest_hz = float(strip.freq_hz[0])
    limits = [
        drive_limits(coil, action, a(), lowest_hz) for a in (VoltageAmplifier, CurrentAmplifier)
    ]
    by_voltage = driver_port(coil, action, VoltageAmplifier(), limits[0], strip.freq_hz)
    assert by_voltage.command_unit == "V"
    assert np.abs(by_voltage.path[0].response(np.array([0.0]))) == pytest.approx([1 / 100])
    by_current = driver_port(coil, action, CurrentAmplifier(), limits[1], strip.freq_hz)
    assert (by_current.command_unit, by_current.path) == ("A", ())


@pytest.mark.parametrize("iron_gap_m", [0.0, 5e-3])
def test_the_way_through_iron_is_no_way_to_go(make_piston, iron_gap_m):
    """A piston touches after the air alone, whatever the iron adds to the circuit."""
    basis = make_piston(1000.0)
    magnet = _magnet(iron_gap_m=iron_gap_m)
    gap = magnet.magnetic_gap(basis.shapes)
    lift = np.abs(basis.shapes.displacement(np.array([magnet.place_m]))[0, 2])
    assert gap.touch_coordinate * lift == pytest.approx(magnet.gap_m)
    # 0.2 of the air is gone.
    nearer = gap.moved(-0.2 * magnet.gap_m / gap.opening[0])
    assert nearer.touch_coordinate * lift == pytest.approx(0.8 * magnet.gap_m)


@pytest.mark.parametrize("on_s", [0.5, 5.0, 60.0])
def test_peak_rise_of_a_coil_driven_again_and_again(on_s):
    """Against the heat equation of one body, integrated through many cycles (scipy)."""
    cycle_s, tau_s = 60.0, 20.0
    share = peak_heat_share(on_s, cycle_s, tau_s)
    rise, peak = 0.0, 0.0
    for _ in range(12):
        for power, time_s in ((1.0, on_s), (0.0, cycle_s - on_s)):
            if time_s > 0:
                found = solve_ivp(
                    lambda _t, y, p=power: (p - y) / tau_s,
                    (0, time_s),
                    [rise],
                    rtol=1e-9,
                    atol=1e-12,
                )
                rise = float(found.y[0, -1])
            peak = rise if power else peak
    assert share == pytest.approx(peak, rel=1e-5)


def test_short_bursts_allow_more_current(strip):
    """On for 1 s of every 60 s with 20 s: 5.1 % of the rise per watt, 4.4 times the current."""
    section = CoilSection(resistance_ohm=16.0, on_time_s=1.0, cycle_s=60.0, thermal_time_s=20.0)
    share = (1 - np.exp(-1 / 20)) / (1 - np.exp(-3))
    assert section.peak_thermal_resistance_k_per_w == pytest.approx(50.0 * share)
    assert not list(section.problems())
    limits = [
        drive_limits(coil, action_of_coil(coil, strip), CurrentAmplifier(limit_a=100.0), 80.0)
        for coil in (
            MovingCoil(position_m=(0.03, 0.0), coil=CoilSection(resistance_ohm=16.0)),
            MovingCoil(position_m=(0.03, 0.0), coil=section),
        )
    ]
    ratio = limits[1].drive_by_cause["heat"] / limits[0].drive_by_cause["heat"]
    assert ratio == pytest.approx(share**-0.5)
    assert [fault.key for fault in CoilSection(on_time_s=1.0).problems()] == ["cycle"]
    assert [fault.key for fault in CoilSection(on_time_s=2.0, cycle_s=1.0).problems()] == [
        "on_time"
    ]


def action_of_coil(coil, strip):
    return coil.action(strip.shapes, coil.biased_gap(strip.shapes, "non-magnetic"))
