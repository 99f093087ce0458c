"""A piezo patch against composite beams, bimetal strips and shunted piezos in closed form."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.linalg import eigh

from modewright.errors import TransducerError
from modewright.geometry.blank import Blank, Hold, Outline
from modewright.geometry.corners import rectangle
from modewright.geometry.planar import loop_polygon
from modewright.materials.solid import IsotropicSolid
from modewright.modes.basis import ModalBasis
from modewright.modes.solid import solve_modes
from modewright.transducers.driver import SheetSpot, attached_masses
from modewright.transducers.electronics import CurrentAmplifier, VoltageAmplifier
from modewright.transducers.operating_point import find_operating_point
from modewright.transducers.patch_bending import Laminate, PatchArea, mean_curvatures
from modewright.transducers.piezo_patch import Ceramic, PiezoPatch
from modewright.transducers.ports import drive_limits
from modewright.transducers.underside import underside_of

LENGTH_M, WIDTH_M, SHEET_M = 60e-3, 8e-3, 0.8e-3
STEEL = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.29, density_kg_per_m3=7850.0)
SPOT = SheetSpot(thickness_m=SHEET_M, saturation_t=np.inf, solid=STEEL)
PATCH = PiezoPatch(
    name="patch", position_m=(12e-3, 0.0), length_m=18e-3, width_m=7e-3, thickness_m=0.2e-3
)


@dataclass(frozen=True)
class QuadraticShapes:
    """Three modes: x², x y and y² - x y/2, in 1/m²."""

    mode_count = 3

    def slope(self, points_m):
        x, y = points_m.T
        found = np.zeros((len(points_m), 3, 2, 3))
        found[:, 2, 0] = np.stack([2 * x, y, -y / 2], axis=-1)
        found[:, 2, 1] = np.stack([0 * x, x, 2 * y - x / 2], axis=-1)
        return found

    @property
    def middle(self):
        return self


@pytest.mark.parametrize("sheet_share", [0.2, 0.5, 0.8])
def test_strip_of_two_metals_bends_as_a_thermostat(sheet_share):
    """S. Timoshenko, Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11 (1925) 233, eq. 4."""
    total_m, strain = 1e-3, 1e-4
    soft = IsotropicSolid(youngs_modulus_pa=60e9, poisson_ratio=0.0, density_kg_per_m3=1.0)
    hard = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.0, density_kg_per_m3=1.0)
    both = Laminate(
        sheet=hard, patch=soft, sheet_m=sheet_share * total_m, patch_m=(1 - sheet_share) * total_m
    )
    m, n = sheet_share / (1 - sheet_share), 200 / 60
    expected = 6 * strain * (1 + m) ** 2
    expected /= total_m * (3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n)))
    stiffness = both.sheet_stiffness_nm + both.added_stiffness_nm
    assert strain * both.moment_n / stiffness == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("angle_deg", [0.0, 25.0, 90.0])
def test_curvatures_of_known_surfaces(angle_deg):
    area = PatchArea(
        centre_m=(0.02, 0.01), length_m=0.03, width_m=0.01, angle_rad=np.radians(angle_deg)
    )
    found = mean_curvatures("patch", QuadraticShapes(), area)
    a, nu = area.area_m2, 0.3
    np.testing.assert_allclose(found.bending, np.array([2.0, 0.0, 2.0]) * a, atol=1e-12 * a)
    # The same whichever way the patch is turned: w_xx, w_yy, w_xy of each.
    xx, yy, xy = np.array([2.0, 0, 0]), np.array([0, 0, 2.0]), np.array([0, 1.0, -0.5])
    total, crossed = xx + yy, np.outer(xx, yy)
    saddle = (crossed + crossed.T) / 2 - np.outer(xy, xy)
    expected = a * (np.outer(total, total) - 2 * (1 - nu) * saddle)
    np.testing.assert_allclose(found.energy(nu), expected, atol=1e-10 * a)
    np.testing.assert_allclose(found.largest, [2.0, 1.0, 1 + np.hypot(1, 0.5)], rtol=1e-9)


def reed(masses=()):
    half = WIDTH_M / 2
    blank = Blank(
        outline=Outline(outer=rectangle((0.0, -half), (LENGTH_M, half))),
        thickness_m=SHEET_M,
        hold=Hold(edges_m=np.array([[[0, -half], [0, half]]])),
        named_points=(),
    )
    return blank.with_masses(masses)


def basis_of(blank, count=12):
    modes = solve_modes(blank, STEEL, count=count, accuracy="draft")
    return ModalBasis(
        freq_hz=modes.freq_hz,
        damping_ratio=np.full(count, 5e-4),
        shapes=modes.shapes,
        labels=modes.labels,
    )


@pytest.fixture(scope="module")
def loaded():
    """Operating point of a reed with the patch, and the modes of the bare one."""
    blank = reed(attached_masses((PATCH,)))
    point = find_operating_point(
        basis_of(blank), (), (PATCH,), VoltageAmplifier(), "non-magnetic", underside_of(blank),
        solid=STEEL,
    )  # fmt: skip
    return point, basis_of(reed(), 6)


def beam(has_patch, count=240):
    """Stiffness and mass of the reed as a stepped beam of two layers, cubic elements.

    W. Weaver & P. R. Johnston, Finite Elements for Structural Analysis, ch. 3 (element matrices).
    """
    h = LENGTH_M / count
    x = (np.arange(count) + 0.5) * h
    on = has_patch & (np.abs(x - PATCH.position_m[0]) < PATCH.length_m / 2)
    e, t, b = PATCH.ceramic.youngs_modulus_pa, PATCH.thickness_m, PATCH.width_m
    sheet_n, patch_n = 200e9 * WIDTH_M * SHEET_M, e * b * t
    together = sheet_n * patch_n / (sheet_n + patch_n) * ((SHEET_M + t) / 2) ** 2
    bend = 200e9 * WIDTH_M * SHEET_M**3 / 12 + on * (e * b * t**3 / 12 + together)
    line = 7850 * WIDTH_M * SHEET_M + on * PATCH.ceramic.density_kg_per_m3 * b * t
    turns = np.array([1, h, 1, h])
    k = [[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]]
    m = [[156, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]]
    k = np.array(k) * np.outer(turns, turns) / h**3
    m = np.array(m) * np.outer(turns, turns) * h / 420
    stiffness, mass = np.zeros((2, 2 * count + 2, 2 * count + 2))
    for i in range(count):
        at = slice(2 * i, 2 * i + 4)
        stiffness[at, at] += bend[i] * k
        mass[at, at] += line[i] * m
    return stiffness[2:, 2:], mass[2:, 2:]


def test_pitches_of_a_reed_of_two_layers(loaded):
    """Bending modes move as those of a stepped beam do, the lowest by 139 cents.

    Twelve modes cannot bend less under the patch than beside it: two or three cents too many.
    """
    point, bare = loaded
    expected = 600 * np.log2(
        eigh(*beam(True), eigvals_only=True)[:3] / eigh(*beam(False), eigvals_only=True)[:3]
    )
    is_bending = [label.startswith("bending") for label in bare.labels]
    before = bare.freq_hz[is_bending][:3]
    after = point.basis.freq_hz[[label.startswith("bending") for label in point.basis.labels]][:3]
    found = 1200 * np.log2(after / before)
    assert expected[0] == pytest.approx(139.5, abs=0.5)
    np.testing.assert_allclose(found, expected, atol=3.5)


def test_tip_of_a_reed_at_a_steady_voltage(loaded):
    """Beam of two layers: its curvature under the patch swings the rest as a straight line.

    Twelve modes give 2.5 % more than fifty, the width of the reed 4 % more than a beam.
    """
    point, _ = loaded
    action = point.driver_actions[0]
    basis = point.basis
    tip = basis.shapes.displacement(np.array([[LENGTH_M, 0.0]]))[0, 2]
    found_m = float(tip @ (action.force_per_drive / basis.omega_rad_s**2)) * 50.0
    strain = PATCH.ceramic.d31_m_per_v * 50.0 / PATCH.thickness_m
    e, t, b = PATCH.ceramic.youngs_modulus_pa, PATCH.thickness_m, PATCH.width_m
    sheet_n, patch_n = 200e9 * WIDTH_M * SHEET_M, e * b * t
    together, apart = sheet_n * patch_n / (sheet_n + patch_n), (SHEET_M + t) / 2
    bend = 200e9 * WIDTH_M * SHEET_M**3 / 12 + e * b * t**3 / 12 + together * apart**2
    curvature = together * apart * strain / bend
    expected_m = curvature * PATCH.length_m * (LENGTH_M - PATCH.position_m[0])
    # Above the sheet: a patch that stretches bends the tip away from it.
    assert found_m == pytest.approx(-expected_m, rel=0.075)


def test_shunted_patch_damps_as_a_shunted_piezo(strip):
    """η = K² ρ/(1 + ρ²), ρ = R C ω, for small K: Hagood & von Flotow (1991), from memory."""
    mode_hz = float(strip.freq_hz[1])
    patch = replace(PATCH, ceramic=Ceramic(loss_tangent=0.0))
    for ratio in (0.3, 1.0, 4.0):
        lead_ohm = ratio / (2 * np.pi * mode_hz * patch.capacitance_f)
        action = replace(patch, lead_resistance_ohm=lead_ohm).action(strip.shapes, None, SPOT)
        square = action.force_per_drive[1] ** 2 / patch.capacitance_f
        back = action.reactions(strip.freq_hz, is_closed=True)["charge"][1, 1]
        assert back.imag == pytest.approx(square * ratio / (1 + ratio**2), rel=1e-9)
    opened = action.reactions(strip.freq_hz, is_closed=False)["charge"][1, 1]
    assert opened.real == pytest.approx(square, rel=1e-9)


def test_capacitance_and_heat():
    """ε0 εr A/t; a capacitor of tan δ turns U² ω C tan δ/2 into heat (common practice)."""
    capacitance_f = 8.854e-12 * 1800 * 18e-3 * 7e-3 / 0.2e-3
    assert PATCH.capacitance_f == pytest.approx(capacitance_f, rel=1e-4)
    action = PATCH.action(QuadraticShapes(), None, SPOT)
    heat_w = action.cold_heat_w(np.array([440.0]))[0] * 100.0**2
    assert heat_w == pytest.approx(2 * np.pi * 440 * capacitance_f * 0.02 * 100**2 / 2, rel=1e-4)


def test_field_and_strain_that_it_bears():
    action = PATCH.action(QuadraticShapes(), None, SPOT)
    limits = drive_limits(PATCH, action, VoltageAmplifier(limit_v=200.0), 440.0)
    assert (limits.binding, limits.drive) == ("field", pytest.approx(100.0))
    # Mode x² has the curvature 2 per coordinate; the sheet's far face is compressed less.
    sheet_n, patch_n = 200e9 / (1 - 0.29**2) * 0.8e-3, 62e9 / (1 - 0.31**2) * 0.2e-3
    neutral_m = patch_n * 0.5e-3 / (sheet_n + patch_n)
    swing = 5e-4 / (2 * (0.6e-3 - neutral_m))
    assert action.stroke_swings[0] == pytest.approx(swing, rel=1e-6)


def test_mass_is_that_of_the_ceramic_and_lies_on_it():
    masses = PATCH.masses
    assert sum(mass.mass_kg for mass in masses) == pytest.approx(7800 * 18e-3 * 7e-3 * 0.2e-3)
    face = loop_polygon(PATCH.face)
    assert face.area == pytest.approx(18e-3 * 7e-3, rel=1e-6)
    turned = replace(PATCH, angle_rad=np.pi / 3)
    for driver in (PATCH, turned, replace(PATCH, length_m=2e-3)):
        centres = np.array([mass.centre_m for mass in driver.masses])
        np.testing.assert_allclose(centres.mean(axis=0), PATCH.position_m, atol=1e-12)
        away_m2 = np.sum((centres - centres.mean(axis=0)) ** 2, axis=1)
        across = sum(
            mass.inertia_kg_m2[2] + mass.mass_kg * away
            for mass, away in zip(driver.masses, away_m2, strict=True)
        )
        weight = sum(mass.mass_kg for mass in driver.masses)
        expected = weight * (driver.length_m**2 + driver.width_m**2) / 12
        assert across == pytest.approx(expected, rel=1e-9)


def test_side_turns_the_force():
    above, below = (
        replace(PATCH, side=side).action(QuadraticShapes(), None, SPOT).force_per_drive
        for side in ("above", "below")
    )
    np.testing.assert_allclose(above, -below)


class TestRefused:
    def test_patch_stiffer_than_the_sheet(self):
        with pytest.raises(TransducerError, match="no more stiffness") as error:
            replace(PATCH, thickness_m=0.6e-3).action(QuadraticShapes(), None, SPOT)
        assert error.value.key == "thickness"

    def test_current_amplifier(self):
        action = PATCH.action(QuadraticShapes(), None, SPOT)
        with pytest.raises(TransducerError, match="patch: expected a voltage amplifier"):
            drive_limits(PATCH, action, CurrentAmplifier(), 440.0)

    def test_off_the_sheet(self):
        blank = reed()
        with pytest.raises(TransducerError, match="lies on the sheet all over"):
            replace(PATCH, position_m=(55e-3, 0.0)).action(basis_of(blank, 2).shapes, None, SPOT)
