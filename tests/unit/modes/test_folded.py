"""Bent sheet against flat sheet, tetrahedra of another library, and itself."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from modewright.errors import BodyError, GeometryError
from modewright.geometry.bends import Bend, default_k_factor
from modewright.geometry.blank import AttachedMass
from modewright.geometry.build import build_blank
from modewright.geometry.families.strip_reed import StripReed
from modewright.geometry.features.bend import StraightBend
from modewright.geometry.fold_plan import fold_plan
from modewright.geometry.support import Clamped, ElasticClamp, Free
from modewright.modes.attached_mass import mass_factor
from modewright.modes.family import rigid_motions
from modewright.modes.fold_map import fold_of_regions, folded_places
from modewright.modes.moved import solve_moved
from modewright.modes.solid import solve_body, solve_modes
from sheet_blanks import STEEL, strain_energy, strip

LENGTH, WIDTH, THICKNESS = 0.08, 0.02, 1e-3


def bend(angle_rad=math.pi / 2, x=0.04, radius_m=2e-3, k_factor=0.4):
    return Bend(
        start_m=(x, -WIDTH / 2),
        end_m=(x, WIDTH / 2),
        angle_rad=angle_rad,
        inside_radius_m=radius_m,
        k_factor=k_factor,
    )


def bent(*bends, is_held=True, **parts):
    return replace(strip(LENGTH, WIDTH, THICKNESS, is_held=is_held), bends=bends, **parts)


def test_hardly_bent_sheet_is_flat_sheet():
    flat = solve_modes(strip(LENGTH, WIDTH, THICKNESS), STEEL, count=6, accuracy="normal")
    hardly = solve_modes(bent(bend(0.002)), STEEL, count=6, accuracy="normal")
    cents = np.abs(1200 * np.log2(hardly.freq_hz / flat.freq_hz))
    assert np.all(cents < 1.5)
    assert hardly.labels == flat.labels


def test_up_and_down_ring_alike():
    up, down = (
        solve_modes(bent(bend(angle)), STEEL, count=6, accuracy="draft") for angle in (1.2, -1.2)
    )
    assert up.freq_hz == pytest.approx(down.freq_hz, rel=1e-6)
    assert up.bending.dilatation_per_pa == pytest.approx(down.bending.dilatation_per_pa, rel=1e-4)


# The angle 80 x 20 x 1 mm, bent by 90 degrees in its middle (inside radius 2 mm, 0.4), held at its
# root: 1827 curved tetrahedra of order 4 of another library, 75 591 unknowns; order 3 on 1422 of
# them lies 0.7 to 5 cents higher.
TETRAHEDRA_HZ = [165.670, 310.496, 463.701, 2002.47, 2193.95, 3348.13, 4786.61, 5842.02]


def test_right_angle_against_tetrahedra():
    modes = solve_modes(bent(bend()), STEEL, count=8, accuracy="normal")
    cents = 1200 * np.log2(modes.freq_hz / TETRAHEDRA_HZ)
    assert np.all(np.abs(cents) < modes.error_cents + 1.0)
    assert np.abs(cents).max() < 2.0
    volume = WIDTH * THICKNESS * (LENGTH - bend().allowance_m(THICKNESS) + math.pi / 2 * 2.5e-3)
    assert modes.body_mass_kg == pytest.approx(7900 * volume, rel=1e-4)


def test_rigid_motions_strain_nothing():
    blank = bent(bend(1.0, x=0.025), bend(-0.7, x=0.06), is_held=False)
    _, solution = solve_body(blank, STEEL, count=4, accuracy="draft")
    rigid = strain_energy(solution.system, rigid_motions(solution.system))
    some = np.random.default_rng(1).standard_normal((*solution.system.shape, 1))
    assert np.abs(rigid).max() < 1e-12 * strain_energy(solution.system, some)[0]


def test_places_of_a_channel():
    """Two right angles: base, web standing up, flange coming back over the base."""
    blank = bent(bend(x=0.03), bend(x=0.05), is_held=True)
    _, solution = solve_body(blank, STEEL, count=1, accuracy="draft")
    fold = fold_of_regions(blank, solution.body.regions)
    width = bend().allowance_m(THICKNESS)
    assert width == pytest.approx(math.pi / 2 * 2.4e-3, rel=1e-12)
    tip = next(part for part in fold.parts if part.chain == (0, 1) and not part.is_bent)
    places, frames = folded_places(fold, tip, np.array([[0.08, 0.01, 0.0]]))
    # Outer faces: the web stands at the end of the base plus outer radius, and is as high as the
    # flat between the bends plus two outer radii.
    base, web, flange = 0.03 - width / 2, 0.02 - width, 0.03 - width / 2
    assert places[0] == pytest.approx([base - flange, 0.01, 2 * 3e-3 + web], abs=1e-12)
    expected = np.array([[-1.0, 0, 0], [0, 1, 0], [0, 0, -1]]).T
    assert frames[0] == pytest.approx(expected, abs=1e-12)


def test_mass_on_a_bent_panel_is_where_the_bend_puts_it():
    mass = AttachedMass(
        centre_m=(0.07, 0.003),
        footprint_radius_m=2e-3,
        mass_kg=2e-3,
        height_m=1.5e-3,
        inertia_kg_m2=(0.0, 0.0, 0.0),
    )
    blank = bent(bend(), is_held=False, masses=(mass,))
    blank = replace(blank, hold=strip(LENGTH, WIDTH, THICKNESS).hold)
    _, solution = solve_body(blank, STEEL, count=1, accuracy="draft")
    system, body = solution.system, solution.body
    factor = mass_factor(system, body.plane, body.regions, blank.masses).reshape(-1, 6)
    everywhere = np.moveaxis(system.places_m, 1, -1)
    nodes_m = system.folded.nodes_m
    fold = fold_of_regions(blank, body.regions)
    part = next(part for part in fold.parts if part.chain == (0,) and not part.is_bent)
    place, _ = folded_places(fold, part, np.array([0.07, 0.003, THICKNESS + 1.5e-3]))
    centre = place - nodes_m.mean(axis=(0, 1))
    for axis in np.eye(3):
        field = np.moveaxis(np.cross(axis, everywhere), -1, 1).reshape(-1)
        speed = np.linalg.norm(np.cross(axis, centre))
        assert np.linalg.norm(factor.T @ field) == pytest.approx(
            math.sqrt(2e-3) * speed, rel=1e-4, abs=1e-9
        )


def test_frequencies_follow_the_angle_on_the_moved_mesh():
    """The mesh moves with the bend: small steps give smooth frequencies."""
    _, solution = solve_body(bent(bend(1.0)), STEEL, count=3, accuracy="draft")
    found = [
        np.sqrt(solve_moved(solution, bent(bend(1.0 + 0.01 * k)), STEEL).omega2) for k in range(4)
    ]
    assert np.abs(np.diff(found, axis=0)).max() > 0.1
    assert np.abs(np.diff(found, n=3, axis=0)).max() < 1e-3 * np.abs(np.diff(found, axis=0)).max()


def test_neutral_fibre_by_the_standard():
    # Half of 0.65 + 0.5 lg(r/s): 0.325 at r = s, a half from r = 5 s on.
    assert default_k_factor(1.0) == pytest.approx(0.325)
    assert default_k_factor(6.0) == 0.5
    # 90 degrees, r = s = 1 mm: 1.57 * 1.325 mm.
    assert Bend(
        start_m=(0, 0), end_m=(0, 1), angle_rad=math.pi / 2, inside_radius_m=1e-3
    ).allowance_m(1e-3) == pytest.approx(2.0813e-3, rel=1e-4)


REED = StripReed(length_m=LENGTH, width_m=WIDTH)


def section(x=0.04, **changes):
    fields = {"start_m": (x, 0.0), "end_m": (x, 0.01), "angle_deg": 90.0, "inside_radius_m": 2e-3}
    return StraightBend(**{**fields, **changes})


@pytest.mark.parametrize(
    ("features", "support", "words"),
    [
        ((section(), section(x=0.042)), Clamped(), "bands that meet"),
        ((section(start_m=(0.2, 0.0), end_m=(0.2, 0.01)),), Clamped(), "one off it"),
        (
            (section(),),
            ElasticClamp(stiffness_n_per_m3=1e12, edges="both ends"),
            "the panel that stays",
        ),
    ],
)
def test_bends_that_cannot_be(features, support, words):
    with pytest.raises(BodyError, match=words):
        build_blank(REED, features, support, THICKNESS, Path())


def test_ring_cannot_be_bent():
    ring = shapely.box(0, 0, 0.1, 0.1) - shapely.box(0.03, 0.03, 0.07, 0.07)
    across = Bend(start_m=(0.05, 0.0), end_m=(0.05, 0.02), angle_rad=1.0, inside_radius_m=1e-3)
    with pytest.raises(GeometryError, match="1 flat parts beside it"):
        fold_plan(ring, (across,), 1e-3, None)


def test_free_and_bent_by_the_design_file():
    blank = build_blank(REED, (section(),), Free(), THICKNESS, Path())
    modes = solve_modes(blank, STEEL, count=3, accuracy="draft")
    assert np.all(modes.freq_hz > 100)
