"""Derivatives of shapes against differences of solutions on the moved mesh, and their norm."""

from dataclasses import replace

import numpy as np
import pytest

from modewright.geometry.blank import AttachedMass
from modewright.modes.body_change import BodyChange
from modewright.modes.complement import solved_sheet
from modewright.modes.moved import solve_moved
from modewright.modes.sampling import sheet_shapes
from modewright.modes.shape_derivatives import shape_derivatives
from modewright.modes.solid import solve_body
from sheet_blanks import STEEL, circle, rectangle, sheet, strip

# Two modes of the free body lie so near that lengths turn them quickly.
SHARES = {"length": 2e-3, "thickness": 5e-3, "hole": 2e-2, "mass": 2e-2, "poisson": 2e-2}
POINTS = np.array([[0.051, 0.002], [0.012, -0.004], [0.031, 0.0055]])


def body(*, length=0.06, thickness=1e-3, hole=0.003, mass=1e-3, poisson=0.29, is_held=True):
    tip = AttachedMass(
        centre_m=(0.05, 0.001),
        footprint_radius_m=2e-3,
        mass_kg=mass,
        height_m=1e-3,
        inertia_kg_m2=(mass * 1e-6, mass * 1e-6, mass * 2e-6),
    )
    holes = [circle(0.03, 0.001, hole)]
    blank = strip(length, 0.012, thickness, masses=(tip,), holes=holes, is_held=is_held)
    return blank, replace(STEEL, poisson_ratio=poisson)


def change_of(body_at, value):
    step = 1e-5 * value
    (lower, below), (upper, above) = body_at(value - step), body_at(value + step)
    return BodyChange(
        lower=lower, upper=upper, lower_material=below, upper_material=above, step=step
    )


def displacement(solution):
    return sheet_shapes(solution.system, solution.shapes).displacement(POINTS)


def by_differences(body_at, value, solution, share):
    here = displacement(solution)

    def at(moved):
        found = displacement(solve_moved(solution, *body_at(moved)))
        return found * np.sign((found * here).sum(axis=(0, 1)))

    coarse, fine = (
        (at(value * (1 + h)) - at(value * (1 - h))) / (2 * value * h) for h in (share, share / 2)
    )
    return (4 * fine - coarse) / 3


@pytest.mark.parametrize(
    ("name", "value"),
    [("length", 0.06), ("thickness", 1e-3), ("hole", 3e-3), ("mass", 1e-3), ("poisson", 0.29)],
)
@pytest.mark.parametrize("is_held", [pytest.param(True, marks=pytest.mark.slow), False])
def test_agree_with_differences_on_the_moved_mesh(name, value, is_held):
    def body_at(moved):
        return body(**{name: moved}, is_held=is_held)

    solution = solve_body(*body(is_held=is_held), count=6, accuracy="draft")[1]
    found = shape_derivatives(solution, [change_of(body_at, value)])
    wanted = by_differences(body_at, value, solution, SHARES[name])
    size = np.abs(displacement(solution)).max(axis=(0, 1))
    np.testing.assert_allclose(
        found.at(POINTS)[..., 0] * value / size, wanted * value / size, rtol=2e-4, atol=1e-4
    )


def test_shapes_of_a_moved_body_are_those_of_its_own_solution():
    def body_at(length):
        return body(length=length)

    solution = solve_body(*body(), count=5, accuracy="draft")[1]
    found = shape_derivatives(solution, [change_of(body_at, 0.06)])
    more = 1e-4 * 0.06
    direct = displacement(solve_moved(solution, *body_at(0.06 + more)))
    np.testing.assert_allclose(
        found.moved(0, more).displacement(POINTS), direct, rtol=1e-5, atol=1e-4
    )


def test_norm_is_kept():
    """Of unit modal mass before and after: 2 φᵀMφ' = -φᵀM'φ, here with M' by the density."""

    def body_at(density):
        blank, metal = body()
        return blank, replace(metal, density_kg_per_m3=density)

    solution = solve_body(*body(), count=4, accuracy="draft")[1]
    found = shape_derivatives(solution, [change_of(body_at, 7900.0)])
    flat = solution.shapes.reshape(-1, 4)
    weighed = solved_sheet(solution).weigh(flat).reshape(solution.shapes.shape)
    lumped = np.tensordot(solution.added, solution.shapes, axes=([0, 1, 2], [0, 1, 2]))
    plain = 1 - (lumped**2).sum(axis=0)
    twice = 2 * np.einsum("ncfm,ncfm->m", weighed, found.fields[0])
    np.testing.assert_allclose(twice, -plain / 7900.0, rtol=1e-7)


def test_equal_modes_move_as_a_subspace():
    """Sums over the degenerate pair of a free square do not know how the pair is turned."""

    def body_at(side):
        return sheet(rectangle(0, 0, side, side), 1e-3), STEEL

    points = np.array([[0.011, 0.031], [0.04, 0.022]])

    def sums(shapes):
        pair = shapes.displacement(points)[:, 2, [3, 4]]
        return pair @ pair.T

    solution = solve_body(*body_at(0.05), count=6, accuracy="draft")[1]
    found = shape_derivatives(solution, [change_of(body_at, 0.05)])
    amount = 1e-4 * 0.05
    rate = (sums(found.moved(0, amount)) - sums(found.moved(0, -amount))) / (2 * amount)
    moved = [solve_moved(solution, *body_at(0.05 + way * 1e-3 * 0.05)) for way in (1, -1)]
    above, below = (sums(sheet_shapes(m.system, m.shapes)) for m in moved)
    wanted = (above - below) / (2e-3 * 0.05)
    np.testing.assert_allclose(rate, wanted, rtol=1e-3, atol=1e-3 * np.abs(wanted).max())
