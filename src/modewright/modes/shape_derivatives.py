"""How mode shapes follow the dimensions of a body, its material and what is fixed to it.

The derivative of a mass-normalised shape is made of all modes; of the known ones by division by
the distance of their λ, of all others together by one solution (Fox & Kapoor, AIAA J. 6 (1968)
2426; Nelson, AIAA J. 14 (1976) 1201; from memory):

    (K - λM) φ' = -(dK/dp - λ dM/dp - λ' M) φ,   2 φᵀMφ' = -φᵀ dM/dp φ

Modes that belong together (see `modewright.modes.derivatives`) follow as a subspace: they do not
turn among themselves, which near a crossing they would do at any rate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.body_rate import body_rates
from modewright.modes.complement import Complement, solved_sheet
from modewright.modes.derivatives import belonging_together
from modewright.modes.elasticity import Term
from modewright.modes.known_part import known_part
from modewright.modes.matrix_rate import matrix_rates
from modewright.modes.one_thread import on_one_thread
from modewright.modes.plane_space import products_of_factors
from modewright.modes.sampling import sheet_shapes
from modewright.modes.term_product import TermProduct
from modewright.modes.volume_shape_derivatives import (
    VolumeShapeDerivatives,
    volume_shape_derivatives,
)
from modewright.modes.volume_solution import VolumeSolution

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.modes.body_change import BodyChange
    from modewright.modes.body_rate import BodyRate
    from modewright.modes.sheet_shapes import SheetShapes
    from modewright.modes.solution import Solution

__all__ = ["ShapeDerivatives", "shape_derivatives"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeDerivatives:
    """Change of the shapes, told at the places of the metal, and how those move.

    Parameters
    ----------
    solution : Solution
    motions : tuple of float arrays, shape (points of the mesh, 2)
        How the metal moves, for each parameter. [m per unit of the parameter]
    fields : float array, shape (parameters, nodes, 3, functions, modes)
        Of the unknowns. [1/sqrt(kg) per unit of the parameter]
    """

    solution: Solution
    motions: tuple[NDArray[np.float64], ...]
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
            On the moved metal.
        """
        solution = self.solution
        space, triangles = solution.system.space, solution.body.plane.triangles
        corners_m = space.corners_m + amount * self.motions[parameter][triangles]
        system = replace(solution.system, space=replace(space, corners_m=corners_m))
        return sheet_shapes(system, solution.shapes + amount * self.fields[parameter])

    def at(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Change of the displacement at fixed places of the lower face.

        Parameters
        ----------
        points_m : float array, shape (points, 2)
            [m]

        Returns
        -------
        float array, shape (points, 3, modes, parameters)
            [1/sqrt(kg) per unit of the parameter]

        Raises
        ------
        GeometryError
            If a place lies off the body.
        """
        system = self.solution.system
        here = sheet_shapes(system, self.solution.shapes)
        slope = here.slope(points_m)
        triangle, barycentric = here.located(points_m)
        corners = self.solution.body.plane.triangles[triangle]
        changes = [
            sheet_shapes(system, field).displacement(points_m)
            - np.einsum("pcxm,pk,pkx->pcm", slope, barycentric, motion[corners], optimize=True)
            for field, motion in zip(self.fields, self.motions, strict=True)
        ]
        return np.stack(changes, axis=-1)


@on_one_thread
def shape_derivatives(
    solution: Solution | VolumeSolution,
    changes: Sequence[BodyChange],
    *,
    near_cents: float | None = None,
) -> ShapeDerivatives | VolumeShapeDerivatives:
    """Derivative of every shape by every parameter.

    Parameters
    ----------
    solution : Solution
        From `modewright.modes.solid.solve_body`.
    changes : sequence of BodyChange
        One for each parameter, of the solution's blank and material.
    near_cents : float, optional
        Modes nearer than this belong together; as for `frequency_derivatives` if left out.

    Returns
    -------
    ShapeDerivatives, or VolumeShapeDerivatives of a solid

    Raises
    ------
    GeometryError
        If a change alters the sequence of lines and arcs.
    SolveError
        If faces of the same height move apart, or an iteration does not converge.
    """
    groups = belonging_together(solution, near_cents)
    if isinstance(solution, VolumeSolution):
        return volume_shape_derivatives(solution, changes, groups)
    pulls = _pulls(solution, changes)
    flat = solution.shapes.reshape(-1, len(solution.omega2))
    rest = Complement(solved_sheet(solution))
    fields = np.zeros((len(pulls), *solution.shapes.shape))
    for number, pull in enumerate(pulls):
        forces, weighed = (part.reshape(flat.shape) for part in (pull.forces, pull.weighed))
        mixing = known_part(flat.T @ forces, flat.T @ weighed, solution.omega2, groups)
        found = rest.solve(-forces, solution.omega2) + flat @ mixing
        fields[number] = found.reshape(solution.shapes.shape)
    return ShapeDerivatives(
        solution=solution, motions=tuple(pull.points for pull in pulls), fields=fields
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pull:
    """What a parameter does to the modes.

    ``forces`` are (dK/dp - λ dM/dp) φ and ``weighed`` dM/dp φ, of shape (nodes, 3, functions,
    modes); ``points`` is the motion of the mesh.
    """

    forces: NDArray[np.float64]
    weighed: NDArray[np.float64]
    points: NDArray[np.float64]


def _pulls(solution: Solution, changes: Sequence[BodyChange]) -> list[_Pull]:
    shapes, omega2 = solution.shapes, solution.omega2
    if solution.system.is_flat:
        return [_sheet_pull(solution, rate) for rate in body_rates(solution, changes)]
    flat = shapes.reshape(-1, len(omega2))
    return [
        _Pull(
            forces=rate.applied(flat, omega2).reshape(shapes.shape),
            weighed=rate.weighed(flat).reshape(shapes.shape),
            points=rate.points,
        )
        for rate in matrix_rates(solution, changes)
    ]


def _sheet_pull(solution: Solution, rate: BodyRate) -> _Pull:
    stiffness = TermProduct(solution.system, _stiffness_terms(solution, rate))
    weighed = _mass_rate(solution, rate)
    return _Pull(
        forces=stiffness(solution.shapes) - solution.omega2 * weighed,
        weighed=weighed,
        points=rate.points,
    )


def _mass_rate(solution: Solution, rate: BodyRate) -> NDArray[np.float64]:
    """DM/dp times the shapes."""
    shapes, axes = solution.shapes, ([0, 1, 2], [0, 1, 2])
    total = TermProduct(solution.system, _mass_terms(solution, rate))(shapes)
    for left, right in ((solution.added, rate.added), (rate.added, solution.added)):
        total += left @ np.tensordot(right, shapes, axes=axes)
    return total


def _stiffness_terms(solution: Solution, rate: BodyRate) -> tuple[Term, ...]:
    system = solution.system
    slabs = zip(system.slabs, system.stiffness, rate.blocks, strict=False)
    moved = _product_rates(solution, rate)
    terms: list[Term] = list(rate.stiffness)
    for slab, here, blocks in slabs:
        terms.append(Term(products=slab.products, blocks=blocks.stiffness))
        terms.append(Term(products=system.pattern.sums(moved, slab.triangles), blocks=here.blocks))
    return tuple(terms)


def _mass_terms(solution: Solution, rate: BodyRate) -> tuple[Term, ...]:
    system = solution.system
    slabs = zip(system.slabs, system.mass, rate.blocks, strict=False)
    moved = _product_rates(solution, rate)[:, :1]
    terms: list[Term] = list(rate.mass)
    for slab, here, blocks in slabs:
        terms.append(Term(products=slab.products[:, :1], blocks=blocks.mass))
        terms.append(Term(products=system.pattern.sums(moved, slab.triangles), blocks=here.blocks))
    return tuple(terms)


def _product_rates(solution: Solution, rate: BodyRate) -> NDArray[np.float64]:
    factors = rate.factors
    return products_of_factors(
        solution.system.space.order, factors.area, factors.scaled, factors.pairs
    )
