"""Thin plates by another library: complete quintic (Argyris) triangles of scikit-fem."""

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import eigsh
from skfem import Basis, BilinearForm, ElementTriArgyris, MeshTri, asm
from skfem.helpers import dd, ddot, trace

# Of u, its slopes and its curvatures at a corner: those that vanish along a held edge, besides the
# slope at the middle of a side.
_HELD = {
    "x": ("u", "u_x", "u_y", "u_n", "u_xy", "u_yy"),
    "y": ("u", "u_x", "u_y", "u_n", "u_xx", "u_xy"),
}


def frequency_parameters(mesh, held, poisson_ratio, count):
    """Lowest omega sqrt(rho h/D) of a plate, without its rigid motions.

    `held` lists clamped edges as pairs: "x" or "y", the coordinate that is constant along the edge,
    and its value. Conforming: every figure is an upper bound.
    """
    basis = Basis(mesh, ElementTriArgyris())
    nu = poisson_ratio

    def energy(u, v, _):
        return (1 - nu) * ddot(dd(u), dd(v)) + nu * trace(dd(u)) * trace(dd(v))

    stiffness = asm(BilinearForm(energy), basis)
    weight = asm(BilinearForm(lambda u, v, _: u * v), basis)
    fixed = np.zeros(0, dtype=int)
    for axis, value in held:
        place = 0 if axis == "x" else 1
        dofs = basis.get_dofs(lambda p, at=place, of=value: np.isclose(p[at], of))
        fixed = np.union1d(fixed, np.concatenate([dofs.all([name]) for name in _HELD[axis]]))
    kept = basis.complement_dofs(fixed)
    rigid = 0 if len(held) else 3
    low = 0.0 if len(held) else -1.0
    square, _ = eigsh(
        sp.csc_matrix(stiffness[kept][:, kept]), count + rigid,
        M=sp.csc_matrix(weight[kept][:, kept]), sigma=low,
    )  # fmt: skip
    return np.sqrt(np.sort(square)[rigid:])


def quadrilateral(corners, cells):
    """Triangles of a quadrilateral, corners anticlockwise."""
    line = np.linspace(0, 1, cells + 1)
    mesh = MeshTri.init_tensor(line, line)
    s, t = mesh.p
    a, b, c, d = (np.array(corner, dtype=float)[:, None] for corner in corners)
    points = a * (1 - s) * (1 - t) + b * s * (1 - t) + c * s * t + d * (1 - s) * t
    return MeshTri(points, mesh.t)


def triangle(corners, cells):
    """Even triangles of a triangle."""
    mesh = MeshTri.init_refdom().refined(cells)
    a, b, c = (np.array(corner, dtype=float)[:, None] for corner in corners)
    s, t = mesh.p
    return MeshTri(a * (1 - s - t) + b * s + c * t, mesh.t)
