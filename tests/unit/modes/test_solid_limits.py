"""Modes of solid sheet against beams, rigid bodies and themselves under similarity."""

import numpy as np
import pytest
from scipy.optimize import brentq

from modewright.errors import SolveError
from modewright.geometry.blank import AttachedMass, Blank, NamedPoint, Outline, Pocket
from modewright.geometry.loop import Loop
from modewright.modes.solid import solve_modes
from sheet_blanks import SLENDER, STEEL, circle, rectangle, sheet, square, strip

LENGTH, WIDTH, THICKNESS = 0.1, 2e-3, 0.5e-3
# Wave speed factor of a slender beam: f = λ² / (2 π L²) sqrt(E I/(ρ A)).
BEAM_HZ = (
    THICKNESS * np.sqrt(SLENDER.youngs_modulus_pa / SLENDER.density_kg_per_m3 / 12)
    / (2 * np.pi * LENGTH**2)
)  # fmt: skip


def solve(blank, count=6, accuracy="normal", material=STEEL):
    return solve_modes(blank, material, count=count, accuracy=accuracy)


def in_plan(modes, kind):
    return np.array(
        [f for f, n in zip(modes.freq_hz, modes.labels, strict=True) if n.startswith(kind)]
    )


def test_slender_cantilever_is_a_beam():
    modes = solve(strip(LENGTH, WIDTH, THICKNESS), material=SLENDER)
    roots = np.array([1.87510407, 4.69409113, 7.85475744])  # cos λ cosh λ = -1
    assert in_plan(modes, "bending")[:3] == pytest.approx(roots**2 * BEAM_HZ, rel=1e-3)
    lateral = roots[0] ** 2 * BEAM_HZ * WIDTH / THICKNESS
    assert in_plan(modes, "lateral")[0] == pytest.approx(lateral, rel=1e-3)


def test_free_bar_has_the_ratios_of_a_beam_and_no_rigid_modes():
    modes = solve(strip(LENGTH, WIDTH, THICKNESS, is_held=False), material=SLENDER)
    found = in_plan(modes, "bending")
    roots = np.array([4.73004074, 7.85320462, 10.99560784])  # cos λ cosh λ = 1
    assert found[:3] == pytest.approx(roots**2 * BEAM_HZ, rel=1.5e-3)
    assert modes.labels[0] == "bending 1"


def test_point_mass_at_the_tip():
    # 1 + cos λ cosh λ = µ λ (sin λ cosh λ - cos λ sinh λ), µ = 1: Karnovsky & Lebed, Formulas for
    # Structural Dynamics, sec. 7.5. Half of the footprint reaches over the tip.
    mass = SLENDER.density_kg_per_m3 * LENGTH * WIDTH * THICKNESS
    point = AttachedMass(
        centre_m=(LENGTH, 0.0), footprint_radius_m=0.4e-3, mass_kg=mass, height_m=0.0,
        inertia_kg_m2=(0.0, 0.0, 0.0),
    )  # fmt: skip
    modes = solve(strip(LENGTH, WIDTH, THICKNESS, masses=(point,)), material=SLENDER)
    roots_squared = np.array([1.557298, 16.25009, 50.89584])
    assert in_plan(modes, "bending")[:3] == pytest.approx(roots_squared * BEAM_HZ, rel=2e-3)
    assert modes.body_mass_kg == pytest.approx(2 * mass, rel=1e-9)


def test_masses_may_share_a_footprint():
    def lump(mass_kg, side):
        return AttachedMass(
            centre_m=(0.05, 0.0), footprint_radius_m=2e-3, mass_kg=mass_kg, height_m=0.0,
            inertia_kg_m2=(0.0, 0.0, 0.0), side=side,
        )  # fmt: skip

    one = solve(strip(0.06, 0.01, 1e-3, masses=(lump(2e-3, "top"),)), accuracy="draft")
    two = solve(
        strip(0.06, 0.01, 1e-3, masses=(lump(1e-3, "top"), lump(1e-3, "top"))), accuracy="draft"
    )
    assert two.freq_hz == pytest.approx(one.freq_hz, rel=1e-8)


def test_frequency_falls_with_size_and_rises_with_thickness():
    small, large = solve(strip(0.05, 0.01, 1e-3)), solve(strip(0.1, 0.02, 2e-3))
    assert large.freq_hz == pytest.approx(small.freq_hz / 2, rel=2e-4)
    thin, thick = (solve(square(0.1, h, [3]), count=3).freq_hz for h in (2e-4, 4e-4))
    assert thick == pytest.approx(2 * thin, rel=2e-3)


@pytest.mark.slow
@pytest.mark.parametrize("turn", [0.3, np.pi / 2, 2.5])
def test_nothing_depends_on_direction_or_start_of_the_outline(turn):
    corners = np.array([(0, -0.005), (0.06, -0.005), (0.06, 0.005), (0, 0.005)])
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    turned = corners @ rotation.T + (0.1, -0.2)
    held = [[turned[0], turned[3]]]
    found = [
        solve(
            sheet(Loop.polygon(outer), 1e-3, held=held, stiffness=3e12, shear_ratio=0.3),
            accuracy="fine",
        )
        for outer in (turned, np.roll(turned, 2, axis=0), turned[::-1])
    ]
    straight = solve(strip(0.06, 0.01, 1e-3, stiffness=3e12, shear_ratio=0.3), accuracy="fine")
    for modes in found:
        assert modes.freq_hz == pytest.approx(straight.freq_hz, rel=2e-4)


def test_pocket_over_everything_is_thinner_sheet():
    pocket = Pocket(loop=rectangle(-0.01, -0.02, 0.07, 0.02), thickness_m=0.6e-3, side="top")
    low = Pocket(loop=rectangle(-0.01, -0.02, 0.07, 0.02), thickness_m=0.6e-3, side="bottom")
    thin = solve(strip(0.06, 0.01, 0.6e-3), accuracy="fine").freq_hz
    for cut in (pocket, low):
        found = solve(strip(0.06, 0.01, 1e-3, pockets=(cut,)), accuracy="fine")
        assert found.freq_hz == pytest.approx(thin, rel=1e-3)
        assert found.body_mass_kg == pytest.approx(7900 * 0.06 * 0.01 * 0.6e-3, rel=1e-9)


def stepped_root(ratio):
    """First root λ L of a clamped-free beam, thickness t then `ratio` t from the middle on."""

    def row(x, k, derivative, stiffness):
        values = [np.sin(k * x), np.cos(k * x), np.sinh(k * x), np.cosh(k * x)]
        order = [[0, 1, 2, 3], [1, 0, 3, 2], [0, 1, 2, 3], [1, 0, 3, 2]][derivative]
        sign = [[1, 1, 1, 1], [1, -1, 1, 1], [-1, -1, 1, 1], [-1, 1, 1, 1]][derivative]
        return stiffness * k**derivative * np.array(sign) * np.array(values)[order]

    def determinant(k):
        k2 = k / np.sqrt(ratio)
        rows = np.zeros((8, 8))
        rows[0, :4], rows[1, :4] = row(0, k, 0, 1), row(0, k, 1, 1)
        for d in range(4):
            left, right = (1, 1) if d < 2 else (1, ratio**3)
            rows[2 + d, :4], rows[2 + d, 4:] = row(0.5, k, d, left), -row(0.5, k2, d, right)
        rows[6, 4:], rows[7, 4:] = row(1, k2, 2, 1), row(1, k2, 3, 1)
        return np.linalg.det(rows)

    grid = np.linspace(0.5, 3.5, 60)
    values = [determinant(k) for k in grid]
    first = next(i for i in range(59) if values[i] * values[i + 1] < 0)
    return brentq(determinant, grid[first], grid[first + 1])


def test_pocket_to_the_tip_is_a_stepped_beam():
    cut = Pocket(loop=rectangle(0.05, -0.01, 0.11, 0.01), thickness_m=0.25e-3, side="top")
    modes = solve(strip(LENGTH, WIDTH, THICKNESS, pockets=(cut,)), count=3, material=SLENDER)
    # The joint of the parts gives way a little within about a thickness.
    expected = stepped_root(0.5) ** 2 * BEAM_HZ
    assert in_plan(modes, "bending")[0] == pytest.approx(expected, rel=4e-3)


def test_elastic_hold_between_rigid_and_free():
    rigid = solve(strip(0.06, 0.01, 1e-3)).freq_hz
    stiff = solve(strip(0.06, 0.01, 1e-3, stiffness=1e19)).freq_hz
    assert stiff == pytest.approx(rigid, rel=1e-5)
    outer = rectangle(0, -0.005, 0.06, 0.005)
    soft = sheet(outer, 1e-3, areas=[outer], stiffness=1e6, shear_ratio=0.25)
    modes = solve(soft, count=9)
    mass = 7900 * 0.06 * 0.01 * 1e-3
    bounce = np.sqrt(2 * 1e6 * 6e-4 / mass) / (2 * np.pi)
    glide = bounce / 2
    assert np.min(np.abs(modes.freq_hz / bounce - 1)) < 1e-3
    assert np.sum(np.abs(modes.freq_hz / glide - 1) < 2e-3) >= 2
    free = solve(strip(0.06, 0.01, 1e-3, is_held=False), count=3).freq_hz
    assert modes.freq_hz[6:] == pytest.approx(free, rel=2e-3)


def test_free_plate_keeps_both_modes_of_each_pair():
    freq = solve(square(0.05, 1e-3), count=9).freq_hz
    # λ of the thin plate: 13.468, 19.596, 24.270, 34.801 (x2), 61.093 (x2), 63.686, 69.27
    pairs = freq[[4, 6]] / freq[[3, 5]]
    assert pairs == pytest.approx([1.0, 1.0], abs=5e-4)
    assert freq[7] > freq[6] * 1.02


@pytest.mark.parametrize("accuracy", ["draft", "normal"])
def test_shapes_are_known_all_round_a_rim_that_chords_stand_for(accuracy):
    rim = Loop(vertices_m=np.array([[-0.06, 0.0], [0.06, 0.0]]), bulge=np.ones(2))
    disc = Blank(
        outline=Outline(outer=rim),
        thickness_m=2e-3,
        named_points=(NamedPoint(name="rim", point_m=(0.06, 0.0)),),
    )
    modes = solve(disc, count=3, accuracy=accuracy)
    turn = np.linspace(0, 2 * np.pi, 97)
    moved = modes.shapes.displacement(0.06 * np.stack([np.cos(turn), np.sin(turn)], axis=1))
    # The third mode has one nodal circle and no diameter: its rim moves alike everywhere.
    assert np.ptp(moved[:, 2, 2]) < 0.1 * np.abs(moved[:, 2, 2]).mean()


def test_narrow_metal_beside_a_hole_converges_as_told():
    # Chords for an arc 0.3 mm from the edge would change the metal that is left by a third.
    blank = strip(0.05, 0.01, 1e-3, holes=[circle(0.03, 1.5e-3, 3.2e-3)])
    normal, fine = (solve(blank, count=10, accuracy=name) for name in ("normal", "fine"))
    off_cents = 1200 * np.log2(normal.freq_hz / fine.freq_hz)
    assert np.all(np.abs(off_cents) <= normal.error_cents + fine.error_cents)
    assert np.abs(off_cents).max() < 2.0


def test_sheet_too_thin_for_the_arithmetic_is_refused():
    with pytest.raises(SolveError, match="too thin"):
        solve(strip(0.1, 3e-3, 15e-6), accuracy="draft")
