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
from typing import TYPE_CHECKING, Any, Protocol

import netgen.meshing
import netgen.occ
import ngsolve as ng
import numpy as np

from modewright.errors import GeometryError
from modewright.modes.triangle import integer_lattice, lattice
from modewright.modes.volume_eigen import lowest_of_solid, product_with
from modewright.modes.volume_matrices import PER_MM3, volume_matrices
from modewright.modes.volume_shape import HELD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid

__all__ = [
    "FileMesh",
    "SolidMesh",
    "Surface",
    "VolumeSolution",
    "mesh_solid",
    "solve_volume_step",
    "surface_of",
    "weighed_by",
]

_RIGID = 6
# Modes whose squared frequencies differ by less are equals.
_EQUAL = 1e-6
_MM = 1e-3


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

    @property
    def corners(self) -> list[int]:
        """Which nodes of a triangle are its corners."""
        count = self.nodes_m.shape[1]
        order = next(p for p in range(1, 20) if len(integer_lattice(p)) == count)
        return [int(np.argmax(integer_lattice(order)[:, c] == order)) for c in range(3)]


class SolidMesh(Protocol):
    """A mesh whose sides can be curved to any order."""

    def curved(self, order: int) -> ng.Mesh:
        """The mesh, in millimetres, with sides of this order, until it is curved again."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FileMesh:
    """Mesh of a shape in the solid kernel."""

    mesh: ng.Mesh

    def curved(self, order: int) -> ng.Mesh:
        """See `SolidMesh`."""
        self.mesh.Curve(order)
        return self.mesh


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VolumeSolution:
    """Lowest modes of a solid.

    Parameters
    ----------
    blank : Blank
        Its plan and its hold.
    material : IsotropicSolid
    mesh : SolidMesh
    order : int
        Of polynomials and of curved faces.
    shift_rad2_s2 : float
        About the lowest squared frequency of a free body, 0 for a held one. [rad²/s²]
    smooth_m : float
        Dilatation that varies over this length counts as bending. [m]
    omega2 : float array, shape (modes,)
        Rising. [rad²/s²]
    vectors : float array, shape (unknowns, modes)
        Mass-normalised. [1/sqrt(kg)]
    error_cents : float array, shape (modes,)
        Estimate of the discretisation error; 0 where there is none, of a single solution. [cents]
    """

    blank: Blank
    material: IsotropicSolid
    mesh: SolidMesh
    order: int
    shift_rad2_s2: float
    smooth_m: float
    omega2: NDArray[np.float64]
    vectors: NDArray[np.float64]
    error_cents: NDArray[np.float64]

    @property
    def mass_kg(self) -> float:
        """Mass of the solid. [kg]"""
        density = self.material.density_kg_per_m3 * PER_MM3
        return float(ng.Integrate(ng.CoefficientFunction(density), self.mesh.curved(self.order)))

    @property
    def bending_per_pa(self) -> NDArray[np.float64]:
        """Integral of the squared dilatation that varies within a sheet's thickness.

        Over twice the strain energy, shape (modes,). [1/Pa]
        """
        mesh = self.mesh.curved(self.order)
        # Slopes per millimetre, squared, over cubic millimetres.
        squares = _bending(mesh, self.order, _fields(self, self.vectors), self.smooth_m)
        return np.asarray(squares * _MM / self.omega2)


def surface_of(solution: VolumeSolution, vectors: NDArray[np.float64]) -> Surface:
    """Surface of a solid, and how it moves in some fields.

    Parameters
    ----------
    solution : VolumeSolution
        Of the solid.
    vectors : float array, shape (unknowns, fields)
        [1/sqrt(kg)]
    """
    return _surface(solution.mesh.curved(solution.order), _fields(solution, vectors))


def weighed_by(solution: VolumeSolution, vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    """Product of the mass matrix of a solid with fields, shape (unknowns, fields)."""
    mesh = solution.mesh.curved(solution.order)
    hold, shift = solution.blank.hold, solution.shift_rad2_s2
    matrices = volume_matrices(mesh, solution.material, hold, solution.order, shift)
    return np.stack([product_with(matrices.mass, vector) for vector in vectors.T], axis=1)


def mesh_solid(shape: netgen.occ.TopoDS_Shape, size_m: float, roundness: float) -> FileMesh:
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
            return FileMesh(mesh=ng.Mesh(mesh))
    raise GeometryError(
        f"solid: expected one that can be meshed, got: {failed}.",
        hint="Look for slivers, tiny faces and edges that nearly touch.",
    )


def solve_volume_step(
    mesh: SolidMesh,
    blank: Blank,
    material: IsotropicSolid,
    *,
    order: int,
    count: int,
    shift_rad2_s2: float,
    smooth_m: float,
) -> VolumeSolution:
    """Solve once.

    Parameters
    ----------
    mesh : SolidMesh
        From `mesh_solid` or `modewright.modes.rod_mesh.mesh_rod`.
    blank : Blank
        Of which the hold counts.
    material : IsotropicSolid
    order : int
        Of polynomials and of curved faces.
    count : int
        Elastic modes.
    shift_rad2_s2 : float
        About the lowest squared frequency of the body if it were free. [rad²/s²]
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
    is_free = blank.hold is None
    shift = shift_rad2_s2 if is_free else 0.0
    matrices = volume_matrices(mesh.curved(order), material, blank.hold, order, shift)
    rigid = _RIGID if is_free else 0
    omega2, vectors = lowest_of_solid(
        matrices.space, matrices.shifted, matrices.mass, count + rigid
    )
    omega2, vectors = omega2[rigid:] - shift, vectors[:, rigid:]
    return VolumeSolution(
        blank=blank,
        material=material,
        mesh=mesh,
        order=order,
        shift_rad2_s2=shift,
        smooth_m=smooth_m,
        omega2=omega2,
        vectors=_upright(matrices.mass, omega2, vectors),
        error_cents=np.zeros(len(omega2)),
    )


def _upright(
    mass: Any,  # noqa: ANN401 - untyped library
    omega2: NDArray[np.float64],
    vectors: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Turn equals among themselves so that some move along z as much, others as little, as can be.

    A round rod bends as well this way as that; so one of two moves towards the pickup, which comes
    first, and the other not at all.
    """
    upright = vectors.copy()
    upright[: 2 * len(vectors) // 3] = 0.0
    weighed = np.stack([product_with(mass, vector) for vector in upright.T], axis=1)
    apart = np.diff(omega2) > _EQUAL * omega2[1:]
    turned = vectors.copy()
    for members in np.split(np.arange(len(omega2)), np.nonzero(apart)[0] + 1):
        _, turn = np.linalg.eigh(upright[:, members].T @ weighed[:, members])
        turned[:, members] = vectors[:, members] @ turn[:, ::-1]
    return turned


def _fields(solution: VolumeSolution, vectors: NDArray[np.float64]) -> list[Any]:
    mesh = solution.mesh.curved(solution.order)
    space = ng.VectorH1(mesh, order=solution.order)
    return [_field(space, vector) for vector in vectors.T]


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
