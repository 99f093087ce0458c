"""Bodies of varying thickness against parallel faces, beams, and mapped hexahedra."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from modewright.geometry.families.bar import Arch
from modewright.geometry.relief import Relief
from modewright.modes.column import Column
from modewright.modes.eigen import lowest_modes
from modewright.modes.elasticity import assemble
from modewright.modes.family import rigid_motions
from modewright.modes.plane_mesh import MeshSizes, mesh_plane
from modewright.modes.regions import cut_into_regions
from modewright.modes.solid import solve_body, solve_modes
from modewright.modes.varying import assemble_varying
from sheet_blanks import STEEL, strain_energy, strip

LENGTH, WIDTH, THICKNESS = 0.2, 0.03, 0.012


def undercut(side="bottom", depth_m=7e-3, **arch):
    return Arch(depth_m=depth_m, length_m=0.1, **arch).curve(LENGTH / 2, side)


def bar(*curves, is_held=False):
    plain = strip(LENGTH, WIDTH, THICKNESS, is_held=is_held)
    return replace(plain, relief=Relief(curves=curves))


def coarse(blank, edge_m=0.02):
    regions = cut_into_regions(blank, 1e-5)
    sizes = MeshSizes(
        edge_m=edge_m,
        corner_edge_m=edge_m,
        mild_corner_edge_m=edge_m,
        step_edge_m=edge_m,
        layer_m=None,
    )
    return regions, mesh_plane(regions, sizes)


@pytest.mark.parametrize("order", [2, 3])
def test_parallel_faces_give_what_sheet_gives(order):
    blank = strip(LENGTH, WIDTH, THICKNESS, is_held=False)
    regions, plane = coarse(blank)
    column = Column(levels_m=np.array([0, 0.5, 1]) * THICKNESS, order=2, is_mirrored=False)
    sheet = assemble(plane, regions, STEEL, column, order)
    varying = assemble_varying(plane, Relief(curves=()), STEEL, column, order)
    none = np.zeros((*sheet.shape, 0))
    expected, _ = lowest_modes(sheet, none, 6, 1e7)
    found, _ = lowest_modes(varying, none, 6, 1e7)
    assert found == pytest.approx(expected, rel=1e-9)


def test_rigid_motions_strain_nothing_between_curved_faces():
    blank = bar(undercut(), undercut("top", 2e-3, shape="parabola"))
    _, plane = coarse(blank)
    column = Column(levels_m=np.array([0, THICKNESS]), order=2, is_mirrored=False)
    system = assemble_varying(plane, blank.relief, STEEL, column, 3)
    rigid = strain_energy(system, rigid_motions(system))
    some = np.random.default_rng(1).standard_normal((*system.shape, 1))
    assert np.abs(rigid).max() < 1e-12 * strain_energy(system, some)[0]


def test_mass_is_that_of_the_body_that_remains():
    for shape, share in (("cosine", 1 / 2), ("parabola", 2 / 3)):
        modes = solve_modes(bar(undercut(shape=shape)), STEEL, count=2, accuracy="normal")
        volume = LENGTH * WIDTH * THICKNESS - share * 0.1 * WIDTH * 7e-3
        assert modes.body_mass_kg == pytest.approx(7900 * volume, rel=2e-5)


def test_turned_over_it_rings_alike():
    below = solve_modes(bar(undercut()), STEEL, count=8, accuracy="draft")
    above = solve_modes(bar(undercut("top")), STEEL, count=8, accuracy="draft")
    assert above.freq_hz == pytest.approx(below.freq_hz, rel=1e-8)


def test_frequencies_follow_depths_without_noise():
    """What tuning needs: the mesh stays the same, so the third difference nearly vanishes."""
    depths = 7e-3 + 1e-5 * np.arange(4)
    found = [
        solve_modes(bar(undercut(depth_m=d)), STEEL, count=6, accuracy="draft").freq_hz
        for d in depths
    ]
    steps = np.diff(found, axis=0)
    assert np.all(np.abs(steps[:, 0]) > 0.1)
    assert np.abs(np.diff(found, n=3, axis=0)).max() < 1e-4


# Cosine arch 7 mm deep and 100 mm long in a bar 200 x 30 x 12 mm, free; hexahedra of order 5 of
# another library on the mapped block, 32 208 unknowns (order 4: 0.2 to 1.3 cents higher).
HEXAHEDRA_HZ = np.array([
    730.7021, 2635.334, 3070.949, 3208.924, 6535.099, 8314.745, 10275.32, 10364.83, 10460.52,
    13044.40,
])  # fmt: skip


@pytest.mark.parametrize(
    ("accuracy", "cents"),
    [("draft", 40), ("normal", 10), pytest.param("fine", 2, marks=pytest.mark.slow)],
)
def test_undercut_bar_against_hexahedra(accuracy, cents):
    modes = solve_modes(bar(undercut()), STEEL, count=10, accuracy=accuracy)
    off = np.abs(1200 * np.log2(np.sort(modes.freq_hz) / HEXAHEDRA_HZ))
    assert off.max() < cents
    # The estimate may be short by the floor of the reference and by a fifth.
    assert np.all(off < 1.2 * modes.error_cents + 0.3)


def test_bending_strain_counts_each_thickness():
    modes, solution = solve_body(bar(undercut()), STEEL, count=5, accuracy="normal")
    assert solution.system.faces is not None
    thin, thick = modes.bending.thickness_m[[0, -1]]
    assert 5e-3 < thin < 6e-3
    assert 11e-3 < thick < 12e-3
    # A bar in bending: uniaxial stress, of which (1 - 2ν)² of E e²/... dilates.
    dilatation = modes.bending.dilatation_per_pa.sum(axis=0)
    beam = (1 - 2 * STEEL.poisson_ratio) ** 2 / STEEL.youngs_modulus_pa
    kinds = dict(zip(modes.labels, dilatation / beam, strict=True))
    assert kinds["bending 1"] == pytest.approx(1.0, rel=0.15)
    assert kinds["torsion 1"] < 0.15


def test_arches_are_what_they_say():
    x = np.linspace(0.04, 0.16, 1201)
    flat = undercut(shape="cosine", flat_m=0.02)
    assert flat.depth_m(x)[np.abs(x - 0.1) < 0.01] == pytest.approx(7e-3, rel=1e-12)
    shapes = [
        undercut(),
        flat,
        undercut(shape="parabola"),
        undercut(shape="given", profile=(0.4, 0.9, 1.0, 0.9, 0.4)),
    ]
    for curve in shapes:
        depth = curve.depth_m(x)
        assert depth.max() == pytest.approx(7e-3, rel=1e-3)
        assert np.abs(depth[(x < 0.05) | (x > 0.15)]).max() < 1e-15
        assert np.abs(np.diff(depth)).max() < 5e-5
    given = shapes[-1].depth_m(np.linspace(0.05, 0.15, 7)[1:-1])
    assert given == pytest.approx(7e-3 * np.array([0.4, 0.9, 1.0, 0.9, 0.4]), rel=1e-9)


def test_kinks_are_lines_of_the_mesh():
    blank = bar(undercut(flat_m=0.02), undercut("top", 1e-3, shape="given", profile=(1, 1, 1)))
    assert blank.relief.kinks_m == pytest.approx((0.05, 0.09, 0.11, 0.15))
    _, plane = coarse(blank)
    corners = plane.points_m[plane.triangles][:, :, 0]
    for low, high in itertools.pairwise((0.0, *blank.relief.kinks_m, LENGTH)):
        inside = (corners.mean(axis=1) > low) & (corners.mean(axis=1) < high)
        assert corners[inside].min() >= low - 1e-9
        assert corners[inside].max() <= high + 1e-9
