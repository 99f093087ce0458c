"""Plates of the standard benchmarks for natural frequency.

Source
------
F. Abbassian, D. J. Dawswell and N. C. Knowles, Selected Benchmarks for Natural Frequency Analysis,
NAFEMS R0015, 1987; The Standard NAFEMS Benchmarks, TNSB Rev. 3, 1990: tests FV12, FV16, FV32.

The printed values of FV12 (modes 4 to 6) and FV16 are upper bounds, up to 1 % high; the tighter
comparison is with converged recomputations of the thin plate (Ritz, 16 x 16 Legendre polynomials).
"""

import numpy as np
import pytest

from modewright.geometry.loop import Loop
from modewright.materials.solid import IsotropicSolid
from modewright.modes.column import Column
from modewright.modes.elasticity import assemble
from modewright.modes.family import Family
from modewright.modes.holds import hold_body
from modewright.modes.plane_mesh import MeshSizes, mesh_plane
from modewright.modes.regions import cut_into_regions
from modewright.modes.search import ModeSearch
from modewright.modes.solid import solve_modes
from sheet_blanks import sheet, square

METAL = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.3, density_kg_per_m3=8000)

# Thin-plate theory leaves out the shear within about a thickness of free edges, which lowers the
# frequencies of twisting modes by the order of thickness over side, here 1/200.
SHEAR_OF_FREE_EDGES = 3e-3


def test_fv12_free_thin_square_plate():
    freq = solve_modes(square(10.0, 0.05), METAL, count=8, accuracy="normal").freq_hz
    assert freq[:3] == pytest.approx([1.622, 2.360, 2.922], rel=SHEAR_OF_FREE_EDGES)
    converged = [1.6217, 2.3595, 2.9223, 4.1902, 4.1902, 7.3560, 7.3560, 7.6682]
    assert freq == pytest.approx(converged, rel=SHEAR_OF_FREE_EDGES)


def test_fv16_cantilevered_thin_square_plate():
    freq = solve_modes(square(10.0, 0.05, [3]), METAL, count=6, accuracy="normal").freq_hz
    printed = np.array([0.421, 1.029, 2.582, 3.306, 3.753, 6.555])
    assert freq == pytest.approx(printed, rel=1.2e-2)
    assert np.all(freq < printed)
    converged = [0.4179, 1.0242, 2.5628, 3.2749, 3.7272, 6.5243]
    assert freq == pytest.approx(converged, rel=SHEAR_OF_FREE_EDGES)


def test_fv32_cantilevered_tapered_membrane():
    outer = Loop.polygon([(0, -2.5), (10, -0.5), (10, 0.5), (0, 2.5)])
    blank = sheet(outer, 0.05, held=[[(0, -2.5), (0, 2.5)]])
    regions = cut_into_regions(blank, 1e-3)
    plane = mesh_plane(
        regions,
        MeshSizes(
            edge_m=1.0, corner_edge_m=0.1, mild_corner_edge_m=0.1, step_edge_m=1.0, layer_m=None
        ),
    )
    column = Column(levels_m=np.array([0.0, 0.05]), order=1, is_mirrored=True)
    system = hold_body(assemble(plane, regions, METAL, column, 3), plane, regions, blank.hold)
    # The family of motion within the plane of a sheet that is its own mirror image.
    membrane = Family(system=system, members=system.families[1])
    matrix = np.zeros((*system.shape, 0))
    omega2, _ = ModeSearch(membrane, matrix, 0.0).lowest(6, 1e-6)
    printed = [44.623, 130.03, 162.70, 246.05, 379.90, 391.44]
    assert np.sqrt(omega2) / (2 * np.pi) == pytest.approx(printed, rel=1e-3)
