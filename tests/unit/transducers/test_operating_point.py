"""Biased modes against the single-degree-of-freedom closed form and energy arguments."""

import numpy as np
import pytest

from modewright.errors import TransducerError
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.coil_section import CoilSection
from modewright.transducers.electromagnet import Armature, BiasedElectromagnet
from modewright.transducers.electronics import CurrentAmplifier, VoltageAmplifier
from modewright.transducers.gap import EPSILON_0
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.operating_point import find_operating_point
from modewright.transducers.plate import RectanglePlate
from modewright.transducers.preamp import ChargeAmplifier

PLATE = RectanglePlate(centre_m=(0.09, 0.0), length_m=0.012, width_m=0.012)
MAGNET = BiasedElectromagnet(
    position_m=(0.03, 0.0),
    iron_gap_m=0.0,
    armature=Armature(diameter_m=6e-3, thickness_m=1e-3),
)
COIL = MovingCoil(position_m=(0.03, 0.0), force_factor_n_per_a=3.0)


def _pickup(**changes):
    given = {"plate": PLATE, "gap_m": 0.3e-3, "bias_v": 150.0, "preamp": ChargeAmplifier()}
    return CapacitivePickup(**(given | changes))


def _bias(basis, *, pickups=(), drivers=(), amplifier=None):
    amplifier = amplifier or CurrentAmplifier()
    return find_operating_point(basis, pickups, drivers, amplifier, "weakly magnetic")


def test_nothing_attached_changes_nothing(strip):
    point = _bias(strip)
    assert point.basis.freq_hz == pytest.approx(strip.freq_hz, rel=1e-12)
    assert point.basis.damping_ratio == pytest.approx(strip.damping_ratio, rel=1e-12)
    assert point.at_rest == ()
    assert point.basis.labels == strip.labels


def test_softening_of_a_piston_includes_the_static_closure(make_piston):
    stiffness, gap_m, bias_v = 1000.0, 0.1e-3, 200.0
    point = _bias(make_piston(stiffness), pickups=(_pickup(gap_m=gap_m, bias_v=bias_v),))
    area = 144e-6
    # Equilibrium k x = ε A V²/(2 (g - x)²), smallest root; then k_e = ε A V²/(g - x)³.
    push = EPSILON_0 * area * bias_v**2 / 2
    roots = np.roots([1, -2 * gap_m, gap_m**2, -push / stiffness])
    closure = np.sort(roots.real[np.abs(roots.imag) < 1e-12])[0]
    left = stiffness - 2 * push / (gap_m - closure) ** 3
    assert point.at_rest[0].closure_m == pytest.approx(closure, rel=1e-9)
    expected = 600 * np.log2(left / stiffness)
    assert point.total_cents == pytest.approx([expected], rel=1e-8)
    assert point.shifts[0].cents == pytest.approx([expected], rel=0.1)
    pull_in = np.sqrt(8 * stiffness * gap_m**3 / (27 * EPSILON_0 * area))
    assert point.at_rest[0].margin == pytest.approx(pull_in / bias_v, rel=1e-6)


def test_moving_the_driver_detunes_by_its_gap_spring(strip):
    point = _bias(strip, drivers=(MAGNET,))
    pull = 0.1**2 * np.pi * 9e-6 / (2 * 4e-7 * np.pi)
    phi = strip.shapes.displacement(np.array([[0.03, 0.0]]))[0, 2]
    # First order: the spring -2 F/g at the place of the driver, a little more as the gap closes.
    cents = -2 * pull / 1e-3 * phi**2 / strip.omega_rad_s**2 * 600 / np.log(2)
    assert point.shifts[0].cents == pytest.approx(cents, rel=0.05)
    assert point.shifts[0].cents[0] < cents[0] * 0.98


@pytest.mark.parametrize("place", [0.1, 0.15, 0.2, 0.3, 0.6, 0.9])
def test_closure_falls_short_by_less_than_about_what_is_said(strip, place):
    """A point force bends a cantilever by F x³/(3 E I) (any textbook); four modes bend less."""
    x_m = place * 0.1
    plate = RectanglePlate(centre_m=(x_m, 0.0), length_m=1e-4, width_m=0.018)
    point = _bias(strip, pickups=(_pickup(plate=plate, bias_v=50.0),))
    gap = point.at_rest[0]
    exact_m = gap.pull_n * x_m**3 / (3 * 193e9 * 0.02 * 1e-3**3 / 12)
    assert -1e-4 * exact_m < exact_m - gap.closure_m < gap.left_out_m
    assert gap.left_out_m < (0.3 if place < 0.5 else 0.01) * exact_m


def test_current_drive_feels_no_back_emf(strip):
    point = _bias(strip, drivers=(COIL,))
    assert point.basis.freq_hz == pytest.approx(strip.freq_hz, rel=1e-12)
    assert point.shifts == ()


def test_voltage_drive_only_adds_damping(strip):
    point = _bias(strip, drivers=(COIL,), amplifier=VoltageAmplifier())
    assert np.all(point.basis.damping_ratio > strip.damping_ratio)
    assert np.all(point.total_cents >= 0)  # an inductance stiffens
    assert np.all(point.shifts[0].loss_factor > 0)


def test_back_emf_of_a_resistive_coil_is_the_closed_form(make_piston):
    basis = make_piston(1000.0)
    winding = CoilSection(resistance_ohm=50.0, inductance_h=0.0)
    coil = MovingCoil(position_m=(0.0, 0.0), force_factor_n_per_a=3.0, coil=winding)
    point = _bias(basis, drivers=(coil,), amplifier=VoltageAmplifier())
    omega = basis.omega_rad_s[0]
    added = 3.0**2 / 50.0 / (1000.0 / omega**2) / (2 * omega)
    assert point.basis.damping_ratio[0] == pytest.approx(5e-4 + added, rel=1e-6)


def test_mixed_modes_stay_mass_normalised_and_static_position_carries_over(strip):
    point = _bias(strip, pickups=(_pickup(),), drivers=(MAGNET,))
    mixing = point.basis.shapes.mixing
    assert mixing.T @ mixing == pytest.approx(np.eye(4), abs=1e-12)
    assert np.all(np.diag(mixing) > 0.99)
    closure = -point.pickup_gaps[0].gap.mean_opening @ point.coordinate
    assert closure == pytest.approx(point.at_rest[0].closure_m, rel=1e-9)
    assert [gap.name for gap in point.at_rest] == ["pickup", "driver"]
    assert all(gap.margin > 1 for gap in point.at_rest)


def test_flipped_modes_give_the_same_body(strip):
    flip = np.diag([1.0, -1.0, -1.0, 1.0])
    flipped = type(strip)(
        freq_hz=strip.freq_hz,
        damping_ratio=strip.damping_ratio,
        shapes=strip.shapes.recombined(flip),
        labels=strip.labels,
    )
    points = [_bias(b, pickups=(_pickup(),), drivers=(MAGNET,)) for b in (strip, flipped)]
    assert points[0].total_cents == pytest.approx(points[1].total_cents, rel=1e-6)
    assert points[0].at_rest[1].margin == pytest.approx(points[1].at_rest[1].margin, rel=1e-9)


def test_strong_magnet_snaps(strip):
    strong = BiasedElectromagnet(
        position_m=(0.09, 0.0),
        gap_m=0.4e-3,
        iron_gap_m=0.0,
        bias_flux_density_t=0.3,
        armature=Armature(diameter_m=6e-3, thickness_m=1e-3),
    )
    with pytest.raises(TransducerError, match="driver: expected a stable position"):
        _bias(strip, drivers=(strong,))
