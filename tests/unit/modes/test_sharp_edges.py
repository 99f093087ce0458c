"""Where stress is singular all along an edge, against plane solutions of the strip from its side.

Without Poisson's ratio the bending modes of a strip are those of its side view, of any width. The
plane solutions are by triangles that shrink towards the singular points, to 1e-3 cents.
"""

import netgen.geom2d
import ngsolve as ng
import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.linalg import eigsh

from modewright.geometry.blank import Pocket
from modewright.modes.solid import solve_body, solve_modes
from modewright.modes.strain_energy import energy_share
from sheet_blanks import SLENDER, STEEL, rectangle, sheet, strip

THICKNESS, WIDTH = 1e-3, 10e-3


def plane_freq_hz(corners_mm, held, singular, order=5, count=4):
    """Lowest modes of a side view; `held` numbers its held sides, `singular` its sharp corners."""
    geometry = netgen.geom2d.SplineGeometry()
    points = [
        geometry.AddPoint(x, z, maxh=1e-4 if i in singular else 0.5)
        for i, (x, z) in enumerate(corners_mm)
    ]
    for i, start in enumerate(points):
        end = points[(i + 1) % len(points)]
        geometry.Append(["line", start, end], bc="held" if i in held else "free")
    mesh = ng.Mesh(geometry.GenerateMesh(maxh=0.5, grading=0.5))
    space = ng.VectorH1(mesh, order=order, dirichlet="held")
    u, v = space.TnT()
    strains = [(ng.Grad(w) + ng.Grad(w).trans) / 2 for w in (u, v)]
    forms = ng.InnerProduct(*strains) * ng.dx, u * v * ng.dx
    free = np.nonzero(np.array(list(space.FreeDofs())))[0]
    stiffness, mass = (
        sparse.csr_matrix(tuple(np.array(part) for part in matrix.CSR()))[free][:, free].tocsc()
        for matrix in (ng.BilinearForm(form).Assemble().mat for form in forms)
    )
    squares = eigsh(stiffness, k=count, M=mass, sigma=0, return_eigenvectors=False)
    speed_mm_s = 1e3 * np.sqrt(SLENDER.youngs_modulus_pa / SLENDER.density_kg_per_m3)
    return np.sqrt(np.sort(squares)) * speed_mm_s / (2 * np.pi)


def in_jaws(length_m):
    jaws = rectangle(0, -WIDTH / 2, 10e-3, WIDTH / 2)
    outer = rectangle(0, -WIDTH / 2, 10e-3 + length_m, WIDTH / 2)
    return sheet(outer, THICKNESS, areas=[jaws])


def bending(modes):
    chosen = [label.startswith("bending") for label in modes.labels]
    return modes.freq_hz[chosen][:3], modes.error_cents[chosen][:3]


@pytest.mark.parametrize("accuracy", ["normal", pytest.param("fine", marks=pytest.mark.slow)])
def test_rigid_jaws(accuracy):
    # The shorter the strip, the more of its energy lies where the jaws end.
    end = 10 + 20
    view = [(0, 0), (10, 0), (end, 0), (end, 1), (10, 1), (0, 1)]
    wanted_hz = plane_freq_hz(view, held=(0, 4), singular=(1, 4))[:3]
    found_hz, error_cents = bending(
        solve_modes(in_jaws(20e-3), SLENDER, count=6, accuracy=accuracy)
    )
    off_cents = np.abs(1200 * np.log2(found_hz / wanted_hz))
    assert np.all(off_cents <= error_cents)
    assert np.all(error_cents < 6 * off_cents)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("start_mm", "end_mm", "left_mm", "width_m"),
    [(2, 6, 0.1, WIDTH), (10, 12, 0.1, WIDTH), (5, 15, 0.3, 2e-3)],
)
def test_deep_steps_of_thickness(start_mm, end_mm, left_mm, width_m):
    view = [(0, 0), (50, 0), (50, 1), (end_mm, 1), (end_mm, left_mm), (start_mm, left_mm)]
    wanted_hz = plane_freq_hz([*view, (start_mm, 1), (0, 1)], held=(7,), singular=(0, 4, 5, 7))[:3]
    thinned = rectangle(start_mm * 1e-3, -width_m, end_mm * 1e-3, width_m)
    pocket = Pocket(loop=thinned, thickness_m=left_mm * 1e-3, side="top")
    blank = strip(50e-3, width_m, THICKNESS, pockets=[pocket])
    found_hz, error_cents = bending(solve_modes(blank, SLENDER, count=10, accuracy="normal"))
    off_cents = np.abs(1200 * np.log2(found_hz / wanted_hz))
    assert np.all(off_cents <= error_cents)


def test_shares_of_energy_add_up():
    _, found = solve_body(in_jaws(20e-3), STEEL, count=4, accuracy="draft")
    # Sooner or later modes in the plane of the sheet come, which reach in between the jaws.
    is_held = np.array([r.is_held for r in found.body.regions.regions])[found.body.plane.region]
    held, rest, all_of_it = (
        energy_share(found.system, STEEL, found.omega2, found.shapes, triangles)
        for triangles in (is_held, ~is_held, np.ones_like(is_held))
    )
    assert held + rest == pytest.approx(all_of_it)
    assert all_of_it == pytest.approx(1.0, rel=1e-4)
    assert np.all(held >= 0)
