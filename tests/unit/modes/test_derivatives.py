"""Derivatives against closed forms, differences of solutions on the moved mesh, and new meshes."""

from dataclasses import replace

import numpy as np
import pytest

from modewright.errors import GeometryError, SolveError
from modewright.geometry.blank import AttachedMass, Pocket
from modewright.modes.body_change import BodyChange
from modewright.modes.closed_form import tip_mass_roots
from modewright.modes.derivatives import clusters, frequency_derivatives
from modewright.modes.moved import solve_moved
from modewright.modes.sampling import sheet_shapes
from modewright.modes.solid import solve_body
from sheet_blanks import SLENDER, STEEL, circle, rectangle, sheet, square, strip


def change_of(body_at, value):
    step = 1e-5 * value
    (lower, below), (upper, above) = body_at(value - step), body_at(value + step)
    return BodyChange(
        lower=lower, upper=upper, lower_material=below, upper_material=above, step=step
    )


def solved(body_at, value, count=6, accuracy="draft"):
    blank, material = body_at(value)
    return solve_body(blank, material, count=count, accuracy=accuracy)[1]


def freq(solution):
    return np.sqrt(solution.omega2) / (2 * np.pi)


def by_differences(body_at, value, solution, share):
    """Central differences, extrapolated, by full solutions on the moved mesh."""

    def at(moved):
        return freq(solve_moved(solution, *body_at(moved)))

    coarse, fine = (
        (at(value * (1 + h)) - at(value * (1 - h))) / (2 * value * h) for h in (share, share / 2)
    )
    return (4 * fine - coarse) / 3


def tip(mass_kg=1e-3, x_m=0.05):
    return AttachedMass(
        centre_m=(x_m, 0.001),
        footprint_radius_m=2e-3,
        mass_kg=mass_kg,
        height_m=1e-3,
        inertia_kg_m2=(mass_kg * 1e-6, mass_kg * 1e-6, mass_kg * 2e-6),
    )


def pocket(left_kept_m=0.6e-3, start_m=0.01):
    loop = rectangle(start_m, -0.01, 0.02, 0.01)
    return Pocket(loop=loop, thickness_m=left_kept_m, side="top")


def plain(**parts):
    return strip(0.06, 0.012, 1e-3, **parts)


def jaws(to_m, **parts):
    return sheet(
        rectangle(0, -0.006, 0.06, 0.006),
        1e-3,
        areas=[rectangle(-0.01, -0.02, to_m, 0.02)],
        **parts,
    )


BODIES = {
    "length": (lambda p: (strip(p, 0.012, 1e-3), STEEL), 0.06),
    "width": (lambda p: (strip(0.06, p, 1e-3), STEEL), 0.012),
    "thickness": (lambda p: (strip(0.06, 0.012, p), STEEL), 1e-3),
    "length of a free strip": (lambda p: (strip(p, 0.012, 1e-3, is_held=False), STEEL), 0.06),
    "poisson": (lambda p: (plain(), replace(STEEL, poisson_ratio=p)), 0.29),
    "tip mass": (lambda p: (plain(masses=(tip(p),)), STEEL), 1e-3),
    "place of tip mass": (lambda p: (plain(masses=(tip(x_m=p),)), STEEL), 0.05),
    "hole": (lambda p: (plain(holes=[circle(0.03, 0.001, p)]), STEEL), 0.003),
    "place of hole": (lambda p: (plain(holes=[circle(p, 0.001, 0.003)]), STEEL), 0.03),
    "depth": (lambda p: (plain(pockets=(pocket(p),)), STEEL), 0.6e-3),
    "start of pocket": (lambda p: (plain(pockets=(pocket(start_m=p),)), STEEL), 0.01),
    "width across pocket": (lambda p: (strip(0.06, p, 1e-3, pockets=(pocket(),)), STEEL), 0.012),
    "stiffness of clamp": (lambda p: (plain(stiffness=p), STEEL), 1e13),
    "jaws": (lambda p: (jaws(p), STEEL), 0.01),
    "elastic jaws": (lambda p: (jaws(p, stiffness=1e14, shear_ratio=0.5), STEEL), 0.01),
}


QUICK = {"length", "poisson", "tip mass", "hole", "depth", "elastic jaws"}


@pytest.mark.parametrize(
    "name",
    [name if name in QUICK else pytest.param(name, marks=pytest.mark.slow) for name in BODIES],
)
def test_agree_with_differences_on_the_moved_mesh(name):
    body_at, value = BODIES[name]
    solution = solved(body_at, value)
    found = frequency_derivatives(solution, [change_of(body_at, value)])[:, 0]
    # A place changes by a share of the size of what is there, not of its distance from the root.
    wanted = by_differences(body_at, value, solution, share=0.01 if "place" in name else 0.04)
    # Solutions of thin sheet carry round-off up to 2e-7, which differences enlarge.
    np.testing.assert_allclose(
        found * value / freq(solution), wanted * value / freq(solution), rtol=1e-5, atol=1e-5
    )


def test_follow_modulus_and_density_as_roots():
    solution = solve_body(plain(), STEEL, count=6, accuracy="draft")[1]
    stiffer = change_of(lambda p: (plain(), replace(STEEL, youngs_modulus_pa=p)), 193e9)
    heavier = change_of(lambda p: (plain(), replace(STEEL, density_kg_per_m3=p)), 7900.0)
    found = frequency_derivatives(solution, [stiffer, heavier])
    np.testing.assert_allclose(found[:, 0] * 193e9 / freq(solution), 0.5, rtol=1e-6)
    np.testing.assert_allclose(found[:, 1] * 7900.0 / freq(solution), -0.5, rtol=1e-6)


def test_scaling_of_all_dimensions():
    """Length, width and thickness together: f goes with 1/size, whatever the body."""

    def body_at(scale):
        outer = rectangle(0, -0.006 * scale, 0.06 * scale, 0.006 * scale)
        hole = circle(0.03 * scale, 0.001 * scale, 0.003 * scale)
        held = [[(0, -0.006 * scale), (0, 0.006 * scale)]]
        return sheet(outer, 1e-3 * scale, held=held, holes=[hole]), STEEL

    solution = solved(body_at, 1.0)
    found = frequency_derivatives(solution, [change_of(body_at, 1.0)])[:, 0]
    np.testing.assert_allclose(found, -freq(solution), rtol=1e-6)


def test_slender_strip_follows_the_closed_form():
    """Bending of a slender beam without Poisson effect: f goes with thickness/length²."""

    def body_at(length_m, thickness_m):
        return strip(length_m, 0.003, thickness_m), SLENDER

    solution = solve_body(*body_at(0.06, 5e-4), count=1, accuracy="normal")[1]
    longer = change_of(lambda p: body_at(p, 5e-4), 0.06)
    thicker = change_of(lambda p: body_at(0.06, p), 5e-4)
    found = frequency_derivatives(solution, [longer, thicker])[0]
    np.testing.assert_allclose(found * [0.06, 5e-4] / freq(solution)[0], [-2.0, 1.0], rtol=1e-3)


def test_tip_mass_follows_the_closed_form():
    """Beam with a mass at its end (Rao, Mechanical Vibrations, sec. 8.5, from memory)."""
    length_m, width_m, thickness_m = 0.1, 4e-3, 5e-4
    beam_kg = SLENDER.density_kg_per_m3 * length_m * width_m * thickness_m

    def body_at(mass_kg):
        mass = AttachedMass(
            centre_m=(length_m - 3e-4, 0.0),
            footprint_radius_m=3e-4,
            mass_kg=mass_kg,
            height_m=0.0,
            inertia_kg_m2=(0.0, 0.0, 0.0),
        )
        return strip(length_m, width_m, thickness_m, masses=(mass,)), SLENDER

    mass_kg = 0.5 * beam_kg
    solution = solve_body(*body_at(mass_kg), count=1, accuracy="normal")[1]
    found = frequency_derivatives(solution, [change_of(body_at, mass_kg)])[0, 0]
    low, high = (tip_mass_roots(0.5 + off, 1)[0] ** 2 for off in (-1e-4, 1e-4))
    wanted = np.log(high / low) / 2e-4 * 0.5
    assert found * mass_kg / freq(solution)[0] == pytest.approx(wanted, rel=0.01)


def test_equal_modes_are_a_subspace():
    """A free square: its degenerate pair splits when one side grows, by equal and known sums."""

    def body_at(side):
        return sheet(rectangle(0, 0, side, 0.05), 1e-3), STEEL

    blank, material = square(0.05, 1e-3), STEEL
    solution = solve_body(blank, material, count=5, accuracy="normal")[1]
    change = change_of(body_at, 0.05)
    found = frequency_derivatives(solution, [change])[:, 0] * 0.05
    pair = [3, 4]
    assert np.ptp(freq(solution)[pair]) < 3e-4 * freq(solution)[3]
    # Both sides grown by the same share: every frequency falls by twice that share but for the
    # share of it that goes with the thickness; by symmetry each side has half in the sum.
    both = change_of(lambda p: (sheet(rectangle(0, 0, p, p), 1e-3), STEEL), 0.05)
    together = frequency_derivatives(solution, [both])[:, 0] * 0.05
    np.testing.assert_allclose(2 * found[pair].sum(), together[pair].sum(), rtol=1e-4)
    np.testing.assert_allclose(together[3], together[4], rtol=1e-3)
    assert np.ptp(found[pair]) > 0.1 * freq(solution)[3]
    sorted_up = freq(solve_moved(solution, *body_at(0.05 * 1.02)))
    predicted = np.sort(freq(solution)[pair] + 0.02 * found[pair])
    np.testing.assert_allclose(sorted_up[pair], predicted, rtol=2e-3)


@pytest.mark.parametrize("accuracy", ["draft", pytest.param("normal", marks=pytest.mark.slow)])
@pytest.mark.parametrize("angle_deg", [0.0, 22.5])
def test_a_mass_on_the_rim_of_a_disc_acts_on_one_of_a_pair(accuracy, angle_deg):
    """By symmetry the mass is on a node line of one of two modes, wherever the mesh puts those.

    The other one falls by half the mass at its own modal mass there (Rayleigh), and the sum of
    1/(modal mass) over a pair does not depend on how the pair is turned.
    """
    angle, mass_kg = np.radians(angle_deg), 1e-9

    def body_at(kg):
        mass = AttachedMass(
            centre_m=(0.0405 * np.cos(angle), 0.0405 * np.sin(angle)),
            footprint_radius_m=5e-4,
            mass_kg=kg,
            height_m=0.0,
            inertia_kg_m2=(0.0, 0.0, 0.0),
        )
        return sheet(circle(0, 0, 0.045), 1e-3, masses=(mass,)), STEEL

    solution = solve_body(*body_at(mass_kg), count=5, accuracy=accuracy)[1]
    pair = freq(solution)[:2]
    assert np.ptp(pair) > 1e-4 * pair[0]
    slopes = np.sort(frequency_derivatives(solution, [change_of(body_at, mass_kg)])[:2, 0])
    assert slopes[1] == pytest.approx(0.0, abs=5e-3 * abs(slopes[0]))
    shapes = sheet_shapes(solution.system, solution.shapes)
    place = [[0.0405 * np.cos(angle), 0.0405 * np.sin(angle)]]
    motion2 = (shapes.displacement(np.array(place))[0, :, :2] ** 2).sum()
    assert slopes[0] == pytest.approx(-pair.mean() * motion2 / 2, rel=5e-3)


def test_clusters_are_runs_of_near_frequencies():
    found = clusters(np.array([100.0, 200.0, 200.001, 200.002, 300.0]), 0.1)
    assert [list(members) for members in found] == [[0], [1, 2, 3], [4]]


def test_no_parameters_give_no_columns():
    solution = solve_body(plain(), STEEL, count=2, accuracy="draft")[1]
    assert frequency_derivatives(solution, []).shape == (2, 0)


def test_a_change_of_the_sequence_of_curves_is_refused():
    solution = solve_body(plain(), STEEL, count=2, accuracy="draft")[1]
    cut = sheet(
        replace(rectangle(0, -0.006, 0.06, 0.006), bulge=np.array([0, 0.1, 0, 0])),
        1e-3,
        held=[[(0, -0.006), (0, 0.006)]],
    )
    change = BodyChange(
        lower=plain(), upper=cut, lower_material=STEEL, upper_material=STEEL, step=1e-6
    )
    with pytest.raises(GeometryError, match="same 4 lines and arcs"):
        frequency_derivatives(solution, [change])


def test_faces_that_part_are_refused():
    def body_at(kept):
        second = Pocket(loop=rectangle(0.03, -0.01, 0.04, 0.01), thickness_m=6e-4, side="top")
        return plain(pockets=(pocket(kept), second)), STEEL

    solution = solved(body_at, 6e-4, count=2)
    with pytest.raises(SolveError, match="same depth of which only one changes"):
        frequency_derivatives(solution, [change_of(body_at, 6e-4)])


def test_blanks_not_drawn_alike_are_refused():
    with pytest.raises(ValueError, match="the same holes, pockets, masses and hold"):
        BodyChange(
            lower=plain(), upper=plain(masses=(tip(),)), lower_material=STEEL,
            upper_material=STEEL, step=1.0,
        )  # fmt: skip
    with pytest.raises(ValueError, match="above 0"):
        BodyChange(
            lower=plain(), upper=plain(), lower_material=STEEL, upper_material=STEEL, step=0.0
        )
