"""Matrices, meshes, error estimate, names and refusals of the solid solution."""

import itertools

import numpy as np
import pytest
import scipy.sparse as sp
from scipy.sparse.linalg import eigsh
from skfem import Basis, BilinearForm, ElementTetP2, ElementVector, MeshTet, asm
from skfem.helpers import dot
from skfem.models.elasticity import lame_parameters, linear_elasticity

from modewright.errors import GeometryError, SolveError
from modewright.geometry.blank import AttachedMass, Pocket
from modewright.geometry.loop import Loop
from modewright.modes.attached_mass import mass_factor
from modewright.modes.column import Column
from modewright.modes.eigen import lowest_modes
from modewright.modes.elasticity import assemble
from modewright.modes.family import Family
from modewright.modes.holds import hold_body
from modewright.modes.plane_mesh import MeshSizes, mesh_plane
from modewright.modes.regions import cut_into_regions
from modewright.modes.solid import solve_modes
from modewright.modes.surface_picture import surface_picture
from sheet_blanks import STEEL, circle, rectangle, sheet, square, strip

POCKET = Pocket(loop=rectangle(0.02, -0.01, 0.035, 0.01), thickness_m=0.6e-3, side="bottom")
LUMP = AttachedMass(
    centre_m=(0.055, 0.001), footprint_radius_m=2e-3, mass_kg=4e-4, height_m=1e-3,
    inertia_kg_m2=(1e-9, 1e-9, 2e-9),
)  # fmt: skip
SIZES = MeshSizes(
    edge_m=6e-3, corner_edge_m=2e-3, mild_corner_edge_m=2e-3, step_edge_m=2e-3, layer_m=1e-3
)


def two_arms(slot_m=2e-3):
    low, high = -0.008, 0.008
    half = slot_m / 2
    outer = Loop.polygon([
        (0, low), (0.07, low), (0.07, -half), (0.02, -half), (0.02, half), (0.06, half),
        (0.06, high), (0, high),
    ])  # fmt: skip
    return sheet(outer, 1e-3, held=[[(0, low), (0, high)]])


def system_of(blank, orders, sizes=SIZES):
    regions = cut_into_regions(blank, 2e-5)
    plane = mesh_plane(regions, sizes)
    column = Column(
        levels_m=np.array(regions.faces_m),
        order=orders[1],
        is_mirrored=len(regions.faces_m) == 2 and not blank.masses,
    )
    system = assemble(plane, regions, STEEL, column, orders[0])
    system = hold_body(system, plane, regions, blank.hold)
    return system, mass_factor(system, plane, regions, blank.masses)


def test_modes_are_orthonormal_in_mass_with_what_is_attached():
    system, factor = system_of(strip(0.06, 0.01, 1e-3, pockets=(POCKET,), masses=(LUMP,)), (3, 2))
    _, shapes = lowest_modes(system, factor, 6, 0.0)
    family = Family(system=system, members=system.families[0])
    unknowns = family.gathered(shapes)[:, :6]
    weigh = family.weighing()
    attached = family.gathered(factor).T @ unknowns
    product = unknowns.T @ np.stack([weigh(u) for u in unknowns.T], axis=1) + attached.T @ attached
    assert product == pytest.approx(np.eye(6), abs=1e-8)


@pytest.mark.slow
@pytest.mark.parametrize(
    "blank",
    [strip(0.06, 0.01, 1e-3), two_arms(), strip(0.06, 0.01, 1e-3, pockets=(POCKET,))],
    ids=["strip", "two arms", "pocket"],
)
def test_frequencies_fall_as_the_space_grows(blank):
    found = []
    for orders in ((1, 2), (2, 2), (3, 2), (3, 4)):
        system, factor = system_of(blank, orders)
        found.append(lowest_modes(system, factor, 5, 0.0)[0])
    for coarse, fine in itertools.pairwise(found):
        assert np.all(fine <= coarse * (1 + 1e-9))


@pytest.mark.slow
def test_block_agrees_with_an_independent_solid_element_library():
    length, width, height = 0.03, 0.01, 0.004
    mesh = MeshTet.init_tensor(
        np.linspace(0, 1, 17) ** 1.5 * length,
        np.linspace(-width / 2, width / 2, 7),
        np.linspace(0, height, 4),
    )
    basis = Basis(mesh, ElementVector(ElementTetP2()))
    moduli = lame_parameters(STEEL.youngs_modulus_pa, STEEL.poisson_ratio)
    stiffness = asm(linear_elasticity(*moduli), basis)
    weight = STEEL.density_kg_per_m3 * asm(BilinearForm(lambda u, v, _: dot(u, v)), basis)
    free = basis.complement_dofs(basis.get_dofs(lambda x: np.isclose(x[0], 0.0)))
    omega2, _ = eigsh(
        sp.csc_matrix(stiffness[free][:, free]), 6, M=sp.csc_matrix(weight[free][:, free]), sigma=0
    )
    expected = np.sqrt(np.sort(omega2)) / (2 * np.pi)
    found = solve_modes(strip(length, width, height), STEEL, count=6, accuracy="fine")
    assert found.freq_hz == pytest.approx(expected, rel=4e-3)
    assert np.all(found.freq_hz < expected)


@pytest.mark.parametrize(
    "blank",
    [
        strip(0.06, 0.01, 1e-3),
        two_arms(),
        two_arms(0.2e-3),
        strip(0.06, 0.02, 1e-3, holes=(circle(0.03, 0.0, 4e-3), circle(0.045, 5e-3, 2e-3))),
        strip(0.06, 0.01, 1e-3, pockets=(POCKET,), masses=(LUMP,)),
        sheet(circle(0.0, 0.0, 0.03), 1e-3),
    ],
)
@pytest.mark.parametrize("edge_m", [2e-3, 4e-3, 8e-3])
def test_triangles_join_and_cover_the_sheet(blank, edge_m):
    regions = cut_into_regions(blank, 5e-5)
    sizes = MeshSizes(
        edge_m=edge_m, corner_edge_m=1e-3, mild_corner_edge_m=1e-3, step_edge_m=2e-3, layer_m=1e-3
    )
    plane = mesh_plane(regions, sizes)
    corners = plane.points_m[plane.triangles]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    assert area.min() > 0
    for number, region in enumerate(regions.regions):
        assert area[plane.region == number].sum() == pytest.approx(region.polygon.area, rel=1e-9)
    sides = np.sort(plane.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    unique, count = np.unique(sides, axis=0, return_counts=True)
    outer = plane.points_m[unique[count == 1]]
    outline = sum(
        np.linalg.norm(regions.nodes_m[e.end] - regions.nodes_m[e.start])
        for e in regions.edges if e.right == -1
    )  # fmt: skip
    assert np.linalg.norm(outer[:, 1] - outer[:, 0], axis=1).sum() == pytest.approx(outline)


@pytest.mark.parametrize(
    "blank", [strip(0.06, 0.01, 1e-3), two_arms(), square(0.05, 5e-4, [0, 1, 2, 3])]
)
def test_error_estimate_covers_the_change_to_the_finest(blank):
    finest = solve_modes(blank, STEEL, count=8, accuracy="fine").freq_hz
    for accuracy in ("draft", "normal"):
        modes = solve_modes(blank, STEEL, count=8, accuracy=accuracy)
        change_cents = np.abs(1200 * np.log2(modes.freq_hz / finest))
        assert np.mean(change_cents <= modes.error_cents + 0.5) >= 0.85
        assert change_cents.max() < {"draft": 60.0, "normal": 10.0}[accuracy]


def test_shapes_join_across_triangles_and_lie_on_the_clamp():
    modes = solve_modes(strip(0.06, 0.01, 1e-3), STEEL, count=4, accuracy="draft")
    picture = surface_picture(modes.shapes)
    held = np.abs(picture.points_m[:, 0]) < 1e-9
    assert np.abs(picture.displacement[held]).max() < 1e-9 * np.abs(picture.displacement).max()
    again = modes.shapes.displacement(picture.points_m)
    largest = np.abs(again).max()
    assert again == pytest.approx(picture.displacement, abs=1e-6 * largest)


def test_same_numbers_and_signs_every_time():
    first, second = (solve_modes(two_arms(), STEEL, count=4, accuracy="draft") for _ in range(2))
    assert second.freq_hz == pytest.approx(first.freq_hz, rel=1e-6)
    largest = np.abs(first.shapes.node_values).max()
    assert second.shapes.node_values == pytest.approx(first.shapes.node_values, abs=1e-5 * largest)


def test_refusals():
    with pytest.raises(SolveError, match="expected 1 to 1000, got 99999"):
        solve_modes(strip(0.06, 0.01, 1e-3), STEEL, count=99999, accuracy="draft")
    system, factor = system_of(strip(0.06, 0.01, 1e-3), (1, 1))
    with pytest.raises(SolveError, match=r"expected fewer than \d+ for this mesh, got 500"):
        lowest_modes(system, factor, 500, 0.0)
    off = AttachedMass(
        centre_m=(0.2, 0.0), footprint_radius_m=2e-3, mass_kg=1e-3, height_m=0.0,
        inertia_kg_m2=(1e-9, 1e-9, 1e-9),
    )  # fmt: skip
    with pytest.raises(
        GeometryError, match=r"footprint on the sheet, got none at \(200.00, 0.00\)"
    ):
        solve_modes(strip(0.06, 0.01, 1e-3, masses=(off,)), STEEL, count=3, accuracy="draft")
    crossing = sheet(Loop.polygon([(0, 0), (0.05, 0.02), (0.05, 0), (0, 0.02)]), 1e-3)
    with pytest.raises(GeometryError, match="loops that bound one body"):
        solve_modes(crossing, STEEL, count=3, accuracy="draft")
    both = (POCKET, Pocket(loop=POCKET.loop, thickness_m=0.3e-3, side="top"))
    with pytest.raises(GeometryError, match="some sheet to remain everywhere"):
        solve_modes(strip(0.06, 0.01, 1e-3, pockets=both), STEEL, count=3, accuracy="draft")
