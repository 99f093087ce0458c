"""Derivatives of solids: scaling laws, rod theory, and differences of solutions on moved meshes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import netgen.occ
import numpy as np
import pytest

from modewright.errors import GeometryError, SolveError
from modewright.geometry.build import build_blank
from modewright.geometry.families.rod import Rod, RodStretch
from modewright.geometry.families.step_solid import StepSolid
from modewright.geometry.support import Clamped, ElasticClamp, Free
from modewright.modes.body_change import BodyChange
from modewright.modes.derivatives import check_change, frequency_derivatives
from modewright.modes.shape_derivatives import shape_derivatives
from modewright.modes.solid import solve_body
from modewright.modes.underside import seen_shapes
from modewright.modes.volume_moved import solve_volume_moved
from modewright.modes.volume_solution import surface_of
from sheet_blanks import STEEL

SIZES = {"l1": 0.05, "d1": 6e-3, "l2": 0.03, "d2": 4e-3, "e2": 3e-3, "k": 1e13}


def stepped(support=Clamped, **sizes):
    """Blank and material; sizes are shares of those above, besides E, nu and rho."""
    s = {name: value * sizes.get(name, 1.0) for name, value in SIZES.items()}
    body = Rod(
        stretches=(
            RodStretch(length_m=s["l1"], diameter_m=s["d1"]),
            RodStretch(length_m=s["l2"], diameter_m=s["d2"], end_diameter_m=s["e2"]),
        )
    )
    held = ElasticClamp(stiffness_n_per_m3=s["k"]) if support is ElasticClamp else support()
    material = replace(
        STEEL,
        youngs_modulus_pa=STEEL.youngs_modulus_pa * sizes.get("E", 1.0),
        poisson_ratio=STEEL.poisson_ratio * sizes.get("nu", 1.0),
        density_kg_per_m3=STEEL.density_kg_per_m3 * sizes.get("rho", 1.0),
    )
    return build_blank(body, (), held, 1e-3, Path()), material


def change_of(body_at, step=5e-5):
    (lower, below), (upper, above) = body_at(1 - step), body_at(1 + step)
    return BodyChange(
        lower=lower, upper=upper, lower_material=below, upper_material=above, step=step
    )


def shares(solution, body_ats):
    """Relative changes of the frequencies, shape (modes, parameters)."""
    slopes = frequency_derivatives(solution, [change_of(body_at) for body_at in body_ats])
    return slopes / (np.sqrt(solution.omega2) / (2 * np.pi))[:, None]


def named(support, *names):
    return lambda share: stepped(support, **dict.fromkeys(names, share))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("support", "names"), [(Clamped, ("l1", "d2", "nu")), (ElasticClamp, ("d1", "k"))]
)
def test_derivatives_are_extrapolated_differences_on_the_moved_mesh(support, names):
    solution = solve_body(*stepped(support), count=4, accuracy="draft")[1]
    found = shares(solution, [named(support, name) for name in names])
    for column, name in zip(found.T, names, strict=True):

        def freq(share, name=name):
            moved = solve_volume_moved(solution, *stepped(support, **{name: share}), count=4)
            return np.log(moved.omega2) / 2

        coarse, fine = ((freq(1 + h) - freq(1 - h)) / (2 * h) for h in (8e-3, 4e-3))
        assert column == pytest.approx((4 * fine - coarse) / 3, abs=1e-5), name


@pytest.mark.parametrize("support", [Clamped, Free])
def test_scaling_laws(support):
    # All lengths: f goes with 1/L. Modulus and density: with their roots.
    solution = solve_body(*stepped(support), count=5, accuracy="draft")[1]
    lengths = named(support, "l1", "d1", "l2", "d2", "e2")
    found = shares(solution, [lengths, named(support, "E"), named(support, "rho")])
    wanted = np.broadcast_to([-1.0, 0.5, -0.5], found.shape)
    assert found == pytest.approx(wanted, abs=1e-6)


def test_slender_rod_goes_with_diameter_over_length_squared():
    # Euler-Bernoulli; what Timoshenko takes away is some (d/L)².
    def body_at(length=1.0, diameter=1.0):
        stretch = RodStretch(length_m=0.2 * length, diameter_m=4e-3 * diameter)
        return build_blank(Rod(stretches=(stretch,)), (), Free(), 1e-3, Path()), STEEL

    solution = solve_body(*body_at(), count=2, accuracy="draft")[1]
    found = shares(solution, [lambda s: body_at(length=s), lambda s: body_at(diameter=s)])
    assert found[:, 0] == pytest.approx([-2.0, -2.0], abs=0.02)
    assert found[:, 1] == pytest.approx([1.0, 1.0], abs=0.02)


@pytest.mark.slow
def test_step_solid_follows_its_material_only(tmp_path):
    block = netgen.occ.Box((0, -5, 0), (40, 5, 4))
    block.WriteStep(str(tmp_path / "block.step"))

    def body_at(share=1.0, reach=1.0):
        solid = StepSolid(
            file="block.step",
            held_box_low_m=(-1e-3, -6e-3, -1e-3),
            held_box_high_m=(1e-3, 6e-3, 5e-3 * reach),
        )
        material = replace(STEEL, youngs_modulus_pa=share * STEEL.youngs_modulus_pa)
        return build_blank(solid, (), Clamped(), 1e-3, tmp_path), material

    solution = solve_body(*body_at(), count=3, accuracy="draft")[1]
    assert shares(solution, [body_at])[:, 0] == pytest.approx([0.5] * 3, abs=1e-7)
    with pytest.raises(SolveError, match="a box that moves"):
        check_change(solution, change_of(lambda share: body_at(reach=share)))


def test_a_step_that_turns_round_has_no_derivative():
    def body_at(share):
        stretches = (
            RodStretch(length_m=0.05, diameter_m=4e-3 * share),
            RodStretch(length_m=0.03, diameter_m=4e-3),
        )
        return build_blank(Rod(stretches=stretches), (), Free(), 1e-3, Path()), STEEL

    solution = solve_body(*body_at(1.0), count=1, accuracy="draft")[1]
    with pytest.raises(GeometryError, match="sequence of steps"):
        check_change(solution, change_of(body_at))


@pytest.mark.slow
@pytest.mark.parametrize("support", [Clamped, Free, ElasticClamp])
def test_shapes_are_extrapolated_differences_on_the_moved_mesh(support):
    solution = solve_body(*stepped(support), count=8, accuracy="draft")[1]
    changed = shape_derivatives(solution, [change_of(named(support, "d1"))])
    places = np.array([[0.03, 0.001], [0.06, 0.0], [0.079, 0.0002]])

    def shapes(vectors, share):
        blank, material = stepped(support, d1=share)
        moved = replace(solution.mesh, rod=blank.solid)
        at = replace(solution, mesh=moved, blank=blank, material=material)
        return seen_shapes(surface_of(at, vectors)).displacement(places)[:, 2, :4:2]

    here = shapes(solution.vectors, 1.0)

    def solved(share):
        moved = solve_volume_moved(solution, *stepped(support, d1=share), count=8)
        there = shapes(moved.vectors, share)
        return there * np.sign((there * here).sum(axis=0))

    coarse, fine = ((solved(1 + h) - solved(1 - h)) / (2 * h) for h in (8e-3, 4e-3))
    below, above = (
        changed.moved(0, way * 1e-4).displacement(places)[:, 2, :4:2] for way in (-1, 1)
    )
    wanted = (4 * fine - coarse) / 3
    slopes = (above - below) / 2e-4
    assert slopes == pytest.approx(wanted, abs=1e-3 * float(np.abs(wanted).max()))
