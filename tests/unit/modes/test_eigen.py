"""Searches for modes against each other: families apart, coupled by a mass, from a start."""

import numpy as np
import pytest

from modewright.geometry.blank import AttachedMass
from modewright.modes.attached_mass import mass_factor
from modewright.modes.column import Column
from modewright.modes.eigen import lowest_modes
from modewright.modes.elasticity import assemble
from modewright.modes.holds import hold_body
from modewright.modes.plane_mesh import MeshSizes, mesh_plane
from modewright.modes.regions import cut_into_regions
from modewright.modes.sampling import sheet_shapes
from modewright.modes.solid import solve_modes
from modewright.modes.transfer import transferred
from sheet_blanks import STEEL, strip

LUMP = AttachedMass(
    centre_m=(0.055, 0.001), footprint_radius_m=2e-3, mass_kg=4e-4, height_m=1e-3,
    inertia_kg_m2=(1e-9, 1e-9, 2e-9),
)  # fmt: skip
SIZES = MeshSizes(
    edge_m=6e-3, corner_edge_m=2e-3, mild_corner_edge_m=2e-3, step_edge_m=2e-3, layer_m=None
)


def system_of(blank, orders, *, is_mirrored):
    regions = cut_into_regions(blank, 2e-5)
    plane = mesh_plane(regions, SIZES)
    levels_m = np.array(regions.faces_m)
    column = Column(levels_m=levels_m, order=orders[1], is_mirrored=is_mirrored)
    system = hold_body(
        assemble(plane, regions, STEEL, column, orders[0]), plane, regions, blank.hold
    )
    return system, mass_factor(system, plane, regions, blank.masses)


@pytest.mark.parametrize(("is_held", "shift"), [(True, 0.0), (False, 1e7)])
@pytest.mark.parametrize("from_start", [False, True])
def test_families_coupled_by_a_mass_are_one_body(is_held, shift, from_start):
    blank = strip(0.06, 0.01, 1e-3, is_held=is_held, masses=(LUMP,))
    whole, factor = system_of(blank, (3, 2), is_mirrored=False)
    expected, _ = lowest_modes(whole, factor, 8, shift)
    halves, factor = system_of(blank, (3, 2), is_mirrored=True)
    start = None
    if from_start:
        coarse, coarse_factor = system_of(blank, (2, 2), is_mirrored=True)
        _, shapes = lowest_modes(coarse, coarse_factor, 8, shift)
        start = transferred(shapes, coarse, halves)
    found, _ = lowest_modes(halves, factor, 8, shift, start)
    # Round-off of the stiffness itself is about 1e-8 of the lowest eigenvalue.
    assert found[:8] == pytest.approx(expected[:8], rel=1e-7)
    # Without the mass on one face the families do not see each other.
    none = np.zeros((*halves.shape, 0))
    assert np.all(lowest_modes(halves, none, 8, shift)[0][:8] > expected[:8])


@pytest.mark.parametrize("is_mirrored", [True, False])
def test_shapes_stay_the_same_in_a_richer_space(is_mirrored):
    blank = strip(0.06, 0.01, 1e-3)
    coarse, factor = system_of(blank, (2, 2), is_mirrored=is_mirrored)
    _, shapes = lowest_modes(coarse, factor, 4, 0.0)
    rich, _ = system_of(blank, (4, 3), is_mirrored=is_mirrored)
    places = np.array([[0.0, 0.0], [0.013, 0.004], [0.042, -0.0031], [0.06, 0.005]])
    before = sheet_shapes(coarse, shapes).displacement(places)
    after = sheet_shapes(rich, transferred(shapes, coarse, rich)).displacement(places)
    assert after == pytest.approx(before, rel=1e-9, abs=1e-9 * np.abs(before).max())


@pytest.mark.parametrize(("accuracy", "cents"), [("draft", 1.0), ("normal", 0.5)])
def test_low_modes_do_not_depend_on_how_many_are_asked_for(accuracy, cents):
    # A draft, some twenty cents off by itself, is not iterated to the end.
    blank = strip(0.06, 0.01, 1e-3, masses=(LUMP,))
    few = solve_modes(blank, STEEL, count=12, accuracy=accuracy)
    for count in (5, 30, 45):
        more = solve_modes(blank, STEEL, count=count, accuracy=accuracy)
        shared = min(count, 12) - 1
        ratio = more.freq_hz[:shared] / few.freq_hz[:shared]
        assert np.abs(1200 * np.log2(ratio)).max() < cents
        assert np.all(np.diff(more.freq_hz) >= 0)
