"""Modes of a solid on curved tetrahedra.

One of the doors to the finite-element library, whose Python side carries few types: hence the
switches below. Lengths are in millimetres, masses in kilograms, times in seconds; shapes come out
in 1/sqrt(kg) all the same.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import netgen.meshing
import netgen.occ
import ngsolve as ng
import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from modewright.errors import GeometryError, SolveError
from modewright.modes.triangle import lattice
from modewright.modes.volume_shape import HELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Hold
    from modewright.materials.solid import IsotropicSolid

__all__ = ["Surface", "VolumeSolution", "mesh_solid", "solve_volume_step"]

_TOLERANCE = 1e-7
_RIGID = 6
_MM = 1e-3
# Per cubic millimetre instead of cubic metre; of a pressure, kg/(m s²) in kg/(mm s²).
_PER_MM3, _PRESSURE = 1e-9, 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """Surface of a solid, cut into small triangles.

    Parameters
    ----------
    nodes_m : float array, shape (triangles, nodes of one, 3)
        Places in the order of `modewright.modes.triangle.lattice`. [m]
    shapes : float array, shape (triangles, nodes of one, 3, modes)
        Mass-normalised displacement there. [1/sqrt(kg)]
    is_held : bool array, shape (triangles,)
        Whether each lies on a held face.
    """

    nodes_m: NDArray[np.float64]
    shapes: NDArray[np.float64]
    is_held: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VolumeSolution:
    """Lowest modes of a solid.

    Parameters
    ----------
    omega2 : float array, shape (modes,)
        Rising. [rad²/s²]
    mass_kg : float
        Of the solid.
    bending_per_pa : float array, shape (modes,)
        Integral of the squared dilatation that varies within a sheet's thickness, over twice the
        strain energy. [1/Pa]
    surface : Surface
    """

    omega2: NDArray[np.float64]
    mass_kg: float
    bending_per_pa: NDArray[np.float64]
    surface: Surface


def mesh_solid(shape: netgen.occ.TopoDS_Shape, size_m: float, roundness: float) -> ng.Mesh:
    """Curved tetrahedra.

    Parameters
    ----------
    shape : TopoDS_Shape
        In millimetres.
    size_m : float
        Largest side. [m]
    roundness : float
        Sides along a rounding as a share of its radius are about one over this.

    Raises
    ------
    GeometryError
        If the mesh library fails even with smaller and smaller triangles on roundings.
    """
    geometry = netgen.occ.OCCGeometry(shape)
    failed = ""
    for finer in (1.0, 1.7, 3.0):
        try:
            mesh = geometry.GenerateMesh(
                maxh=size_m / _MM / finer, curvaturesafety=finer * roundness, segmentsperedge=0.5
            )
        except netgen.meshing.NgException as error:
            failed = str(error)
        else:
            return ng.Mesh(mesh)
    raise GeometryError(
        f"solid: expected one that can be meshed, got: {failed}.",
        hint="Look for slivers, tiny faces and edges that nearly touch.",
    )


def solve_volume_step(
    mesh: ng.Mesh,
    material: IsotropicSolid,
    hold: Hold | None,
    *,
    order: int,
    count: int,
    shift_rad2_s2: float,
    smooth_m: float,
) -> VolumeSolution:
    """Solve once.

    Parameters
    ----------
    mesh : Mesh
        From `mesh_solid`.
    material : IsotropicSolid
    hold : Hold or None
    order : int
        Of polynomials and of curved faces.
    count : int
        Elastic modes.
    shift_rad2_s2 : float
        About the lowest squared frequency. [rad²/s²]
    smooth_m : float
        Dilatation that varies over this length counts as bending. [m]

    Returns
    -------
    VolumeSolution

    Raises
    ------
    SolveError
        If the modes do not converge.
    """
    mesh.Curve(order)
    is_rigid = hold is not None and hold.stiffness_n_per_m3 is None
    space = ng.VectorH1(mesh, order=order, dirichlet=HELD if is_rigid else "")
    u, v = space.TnT()
    density = material.density_kg_per_m3 * _PER_MM3
    shift = 0.0 if hold is not None else shift_rad2_s2
    shifted = ng.BilinearForm(space, symmetric=True)
    shifted += _strain_energy(u, v, material) * ng.dx + shift * density * u * v * ng.dx
    if hold is not None and hold.stiffness_n_per_m3 is not None:
        shifted += _springs(u, v, hold) * ng.ds(HELD)
    mass = ng.BilinearForm(space, symmetric=True)
    mass += density * u * v * ng.dx
    shifted.Assemble()
    mass.Assemble()
    rigid = 0 if hold is not None else _RIGID
    omega2, vectors = _lowest(space, shifted.mat, mass.mat, count + rigid)
    omega2, vectors = omega2[rigid:] - shift, vectors[:, rigid:]
    fields = [_field(space, vector) for vector in vectors.T]
    return VolumeSolution(
        omega2=omega2,
        mass_kg=float(ng.Integrate(ng.CoefficientFunction(density), mesh)),
        # Slopes per millimetre, squared, over cubic millimetres.
        bending_per_pa=_bending(mesh, order, fields, smooth_m) * _MM / omega2,
        surface=_surface(mesh, fields),
    )


def _strain_energy(u: Any, v: Any, material: IsotropicSolid) -> Any:  # noqa: ANN401
    lame = material.first_lame_pa * _PRESSURE
    shear = material.shear_modulus_pa * _PRESSURE

    def strain(w: Any) -> Any:  # noqa: ANN401 - untyped library
        return 0.5 * (ng.Grad(w) + ng.Grad(w).trans)

    return 2 * shear * ng.InnerProduct(strain(u), strain(v)) + lame * ng.div(u) * ng.div(v)


def _springs(u: Any, v: Any, hold: Hold) -> Any:  # noqa: ANN401 - untyped library
    normal = ng.specialcf.normal(3)
    # N/m³ is kg/(m² s²).
    stiffness = (hold.stiffness_n_per_m3 or 0.0) * _MM**2
    tangential = stiffness * hold.shear_ratio
    return (stiffness - tangential) * (u * normal) * (v * normal) + tangential * u * v


def _lowest(
    space: Any,  # noqa: ANN401 - untyped library
    shifted: Any,  # noqa: ANN401
    mass: Any,  # noqa: ANN401
    count: int,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest eigenvalues of the shifted pencil, rising, and their vectors."""
    is_free = space.FreeDofs()
    free = np.array(list(is_free))
    if count >= free.sum() // 4:
        raise SolveError(
            f"modes: expected fewer than {int(free.sum()) // 4} for this mesh, got {count}.",
            hint="Ask for fewer modes or for a finer accuracy.",
        )
    inverse = shifted.Inverse(is_free, inverse="sparsecholesky")

    def operator(matrix: Any) -> LinearOperator:  # noqa: ANN401 - untyped library
        given, result = mass.CreateColVector(), mass.CreateColVector()

        def product(vector: NDArray[np.float64]) -> NDArray[np.float64]:
            given.FV().NumPy()[:] = vector
            matrix.Mult(given, result)
            return np.array(result.FV().NumPy())

        return LinearOperator((space.ndof,) * 2, matvec=product, dtype=np.dtype(np.float64))

    start = np.random.default_rng(0).standard_normal(space.ndof) * free
    try:
        values, vectors = eigsh(
            operator(shifted), k=count, M=operator(mass), sigma=0.0, OPinv=operator(inverse),
            tol=_TOLERANCE, v0=start, ncv=2 * count + 8,
        )  # fmt: skip
    except ArpackNoConvergence as error:
        raise SolveError(
            f"modes: expected {count} converged modes, got {len(error.eigenvalues)}.",
            hint="Ask for fewer modes or another accuracy.",
        ) from error
    order = np.argsort(values)
    return values[order], vectors[:, order]


def _field(space: Any, vector: NDArray[np.float64]) -> Any:  # noqa: ANN401 - untyped library
    field = ng.GridFunction(space)
    field.vec.FV().NumPy()[:] = vector
    return field


def _bending(mesh: Any, order: int, fields: list[Any], smooth_m: float) -> NDArray[np.float64]:  # noqa: ANN401
    """Integral of the squared dilatation less its running mean. [mm³ of squared dilatation]

    The mean is that of a screened diffusion over `smooth_m`: it follows what varies slowly, such as
    extension, and does not see what changes sign across a sheet.
    """
    space = ng.H1(mesh, order=order)
    w, z = space.TnT()
    length = smooth_m / _MM
    smoothing = ng.BilinearForm(space, symmetric=True)
    smoothing += (length**2 * ng.grad(w) * ng.grad(z) + w * z) * ng.dx
    smoothing.Assemble()
    inverse = smoothing.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
    mean = ng.GridFunction(space)
    found: list[float] = []
    for field in fields:
        dilatation = ng.div(field)
        load = ng.LinearForm(space)
        load += dilatation * z * ng.dx
        load.Assemble()
        mean.vec.data = inverse * load.vec
        found.append(float(ng.Integrate((dilatation - mean) ** 2 * ng.dx, mesh)))
    return np.array(found)


_DIVISIONS = 6
_LATTICE = 2


def _surface(mesh: Any, fields: list[Any]) -> Surface:  # noqa: ANN401 - untyped library
    """Places and displacements on lattices of the parts of every face."""
    spots, parts = _spots()
    rule = ng.IntegrationRule(points=[tuple(s) for s in spots[:, :2]], weights=[0.0] * len(spots))
    places = mesh.MapToAllElements(rule, ng.BND)
    count = len(spots)
    where = ng.CoefficientFunction((ng.x, ng.y, ng.z))(places).reshape(-1, count, 3)
    moved = np.stack([f(places).reshape(-1, count, 3) for f in fields], axis=-1)
    nodes = where[:, parts].reshape(-1, parts.shape[1], 3) * _MM
    shapes = moved[:, parts].reshape(len(nodes), parts.shape[1], 3, len(fields))
    names = mesh.GetBoundaries()
    held = np.array([names[e.index] == HELD for e in mesh.Elements(ng.BND)])
    return Surface(nodes_m=nodes, shapes=shapes, is_held=np.repeat(held, len(parts)))


def _spots() -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Barycentric places in a face, and which of them make the lattice of each of its parts."""
    fine = lattice(_DIVISIONS * _LATTICE)
    corners = lattice(_DIVISIONS) * _DIVISIONS
    names = {tuple(c): i for i, c in enumerate(np.round(corners).astype(int).tolist())}
    upright = [(i, j) for i in range(_DIVISIONS) for j in range(_DIVISIONS - i)]
    triangles: list[list[int]] = []
    for i, j in upright:
        k = _DIVISIONS - 1 - i - j
        triangles.append([names[i + 1, j, k], names[i, j + 1, k], names[i, j, k + 1]])
        if k > 0:
            triangles.append([names[i + 1, j + 1, k - 1], names[i, j + 1, k], names[i + 1, j, k]])
    places = np.einsum("nc,pcd->pnd", lattice(_LATTICE), corners[triangles] / _DIVISIONS)
    distance = np.linalg.norm(places[:, :, None] - fine, axis=-1)
    return fine, distance.argmin(axis=-1)
