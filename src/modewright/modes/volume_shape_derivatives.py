"""How the shapes of a solid follow its dimensions, its material and its hold.

As for sheet (`modewright.modes.shape_derivatives`); displacements go with the moving mesh.

One of the doors to the finite-element library, whose Python side carries few types: hence the
switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false, reportAttributeAccessIssue=false
# pyright: reportUnknownParameterType=false, reportMissingTypeStubs=false

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import ngsolve as ng
import numpy as np

from modewright.modes.complement import Complement, SolvedBody
from modewright.modes.known_part import known_part
from modewright.modes.rod_mesh import RodMesh
from modewright.modes.underside import seen_shapes
from modewright.modes.volume_matrices import volume_matrices
from modewright.modes.volume_rate import volume_pulls, volume_rates
from modewright.modes.volume_solution import surface_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from modewright.geometry.solid_shape import TurnedRod
    from modewright.modes.body_change import BodyChange
    from modewright.modes.sheet_shapes import SheetShapes
    from modewright.modes.volume_solution import VolumeSolution

__all__ = ["VolumeShapeDerivatives", "volume_shape_derivatives"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VolumeShapeDerivatives:
    """Change of the shapes, told at the places of the metal, and how those move.

    Parameters
    ----------
    solution : VolumeSolution
    changes : tuple of BodyChange
    fields : float array, shape (parameters, unknowns, modes)
        [1/sqrt(kg) per unit of the parameter]
    """

    solution: VolumeSolution
    changes: tuple[BodyChange, ...]
    fields: NDArray[np.float64]

    def moved(self, parameter: int, amount: float) -> SheetShapes:
        """Shapes, to first order, of the body with a little more of one parameter.

        Parameters
        ----------
        parameter : int
        amount : float
            [unit of the parameter]

        Returns
        -------
        SheetShapes
            Of what is seen from below, on the moved metal.
        """
        solution, mesh = self.solution, self.solution.mesh
        if isinstance(mesh, RodMesh):
            rod = _between(mesh.rod, self.changes[parameter], amount)
            solution = replace(solution, mesh=replace(mesh, rod=rod))
        vectors = self.solution.vectors + amount * self.fields[parameter]
        return seen_shapes(surface_of(solution, vectors))


def _between(rod: TurnedRod, change: BodyChange, amount: float) -> TurnedRod:
    """The rod with a little more of the parameter."""
    low, high = change.lower.solid, change.upper.solid
    if not isinstance(low, type(rod)) or not isinstance(high, type(rod)):
        raise TypeError("change: expected one of rods")
    share = amount / (2 * change.step)
    return replace(
        rod,
        places_m=rod.places_m + share * (high.places_m - low.places_m),
        radii_m=rod.radii_m + share * (high.radii_m - low.radii_m),
    )


def volume_shape_derivatives(
    solution: VolumeSolution, changes: Sequence[BodyChange], groups: Sequence[NDArray[np.int64]]
) -> VolumeShapeDerivatives:
    """Derivative of every shape by every parameter.

    Parameters
    ----------
    solution : VolumeSolution
    changes : sequence of BodyChange
        Of its blank and material.
    groups : sequence of int arrays
        Places of modes that belong together.

    Returns
    -------
    VolumeShapeDerivatives

    Raises
    ------
    GeometryError, SolveError
        If there is no derivative, or an iteration does not converge.
    """
    modes, omega2 = solution.vectors, solution.omega2
    pulls = volume_pulls(solution, volume_rates(solution, changes))
    rest = Complement(_solved(solution))
    fields = np.zeros((len(pulls), *modes.shape))
    for number, (forces, weighed) in enumerate(pulls):
        mixing = known_part(modes.T @ forces, modes.T @ weighed, omega2, groups)
        fields[number] = rest.solve(-forces, omega2) + modes @ mixing
    return VolumeShapeDerivatives(solution=solution, changes=tuple(changes), fields=fields)


def _solved(solution: VolumeSolution) -> SolvedBody:
    """Factorise the stiffness of a solid."""
    mesh = solution.mesh.curved(solution.order)
    hold, shift = solution.blank.hold, solution.shift_rad2_s2
    matrices = volume_matrices(mesh, solution.material, hold, solution.order, shift)
    is_free = matrices.space.FreeDofs()
    inverse = matrices.shifted.Inverse(is_free, inverse="sparsecholesky")
    weigh = _product_with(matrices.mass, matrices.mass)
    return SolvedBody(
        precondition=_product_with(inverse, matrices.mass),
        plain=weigh,
        weigh=weigh,
        shift_rad2_s2=shift,
        is_free=np.array(list(is_free)),
        modes=solution.vectors,
        motions=_motions(matrices.space) if hold is None else solution.vectors[:, :0],
    )


def _product_with(
    matrix: Any,  # noqa: ANN401 - untyped library
    like: Any,  # noqa: ANN401
) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    given, result = like.CreateColVector(), like.CreateColVector()

    def product(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        found = np.empty_like(vectors)
        for column in range(vectors.shape[1]):
            given.FV().NumPy()[:] = vectors[:, column]
            matrix.Mult(given, result)
            found[:, column] = result.FV().NumPy()
        return found

    return product


def _motions(space: Any) -> NDArray[np.float64]:  # noqa: ANN401 - untyped library
    """Three translations and three rotations, shape (unknowns, 6)."""
    x, y, z = ng.x, ng.y, ng.z
    found: list[NDArray[np.float64]] = []
    for motion in ((1, 0, 0), (0, 1, 0), (0, 0, 1), (0, -z, y), (z, 0, -x), (-y, x, 0)):
        field = ng.GridFunction(space)
        field.Set(ng.CoefficientFunction(motion))
        vector = np.array(field.vec.FV().NumPy())
        found.append(vector / np.linalg.norm(vector))
    return np.stack(found, axis=1)
