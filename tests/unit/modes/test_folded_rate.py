"""Derivatives of bent sheet: scaling laws, and differences of solutions on the moved mesh."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from modewright.geometry.bends import Bend
from modewright.geometry.blank import AttachedMass
from modewright.modes.body_change import BodyChange
from modewright.modes.derivatives import frequency_derivatives
from modewright.modes.moved import solve_moved
from modewright.modes.sampling import sheet_shapes
from modewright.modes.shape_derivatives import shape_derivatives
from modewright.modes.solid import solve_body
from sheet_blanks import STEEL, strip


def body(kind="plain", **shares):
    """Blank with one or two bends and material, all numbers times their shares."""
    s = dict.fromkeys(
        ("size", "thickness", "length", "angle", "radius", "place", "k_factor"), 1.0
    ) | dict.fromkeys(("E", "rho", "mass", "springs"), 1.0)
    s |= shares
    size = s["size"]

    def bend(x, angle, radius):
        return Bend(
            start_m=(x * size, -0.01 * size),
            end_m=(x * size, 0.01 * size),
            angle_rad=angle,
            inside_radius_m=radius * size,
            k_factor=0.4 * s["k_factor"],
        )

    bends = [bend(0.04 * s["place"], 1.2 * s["angle"], 2e-3 * s["radius"])]
    if kind == "two bends":
        bends.append(bend(0.06, -0.8, 1e-3))
    blank = strip(0.08 * s["length"] * size, 0.02 * size, 1e-3 * s["thickness"] * size)
    blank = replace(blank, bends=tuple(bends))
    if kind == "springs":
        hold = replace(blank.hold, stiffness_n_per_m3=1e13 * s["springs"], shear_ratio=0.8)
        blank = replace(blank, hold=hold)
    if kind == "mass":
        mass = AttachedMass(
            centre_m=(0.07 * s["place"], 0.003),
            footprint_radius_m=2e-3,
            mass_kg=2e-3 * s["mass"],
            height_m=1.5e-3,
            inertia_kg_m2=(0.0, 0.0, 0.0),
        )
        blank = replace(blank, masses=(mass,))
    material = replace(
        STEEL,
        youngs_modulus_pa=STEEL.youngs_modulus_pa * s["E"],
        density_kg_per_m3=STEEL.density_kg_per_m3 * s["rho"],
    )
    return blank, material


def change_of(kind, name, step=5e-5):
    (lower, below), (upper, above) = body(kind, **{name: 1 - step}), body(kind, **{name: 1 + step})
    return BodyChange(
        lower=lower, upper=upper, lower_material=below, upper_material=above, step=step
    )


def solved(kind, count=5):
    return solve_body(*body(kind), count=count, accuracy="draft")[1]


def extrapolated(at, share):
    coarse, fine = ((at(1 + h) - at(1 - h)) / (2 * h) for h in (share, share / 2))
    return (4 * fine - coarse) / 3


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "names"),
    [
        ("plain", ("angle", "radius", "place", "length", "thickness", "k_factor")),
        ("two bends", ("angle", "thickness")),
        ("springs", ("angle", "springs")),
        ("mass", ("angle", "place", "mass")),
    ],
)
def test_derivatives_are_extrapolated_differences_on_the_moved_mesh(kind, names):
    solution = solved(kind)
    slopes = frequency_derivatives(solution, [change_of(kind, name) for name in names])
    found = slopes / (np.sqrt(solution.omega2) / (2 * np.pi))[:, None]
    for column, name in zip(found.T, names, strict=True):

        def log_freq(share, name=name):
            return np.log(solve_moved(solution, *body(kind, **{name: share})).omega2) / 2

        assert column == pytest.approx(extrapolated(log_freq, 8e-3), abs=1e-5), name


@pytest.mark.parametrize("kind", ["plain", "two bends"])
def test_scaling_laws(kind):
    solution = solved(kind)
    changes = [change_of(kind, name) for name in ("size", "E", "rho")]
    slopes = frequency_derivatives(solution, changes)
    found = slopes / (np.sqrt(solution.omega2) / (2 * np.pi))[:, None]
    assert found == pytest.approx(np.broadcast_to([-1.0, 0.5, -0.5], found.shape), abs=1e-5)


def test_shapes_along_the_axes_of_the_sheet():
    places = np.array([[0.02, 0.003], [0.041, -0.005], [0.075, 0.004]])
    solution = solved("plain", count=6)
    changed = shape_derivatives(solution, [change_of("plain", "angle")])
    below, above = (changed.moved(0, way * 1e-4).displacement(places) for way in (-1, 1))
    slopes = (above - below)[..., :4] / 2e-4
    here = sheet_shapes(solution.system, solution.shapes).displacement(places)[..., :4]

    def shapes(share):
        moved = solve_moved(solution, *body(angle=share))
        there = sheet_shapes(moved.system, moved.shapes).displacement(places)[..., :4]
        return there * np.sign((there * here).sum(axis=(0, 1)))

    wanted = extrapolated(shapes, 8e-3)
    assert slopes == pytest.approx(wanted, abs=1e-4 * float(np.abs(wanted).max()))
