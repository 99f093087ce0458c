"""How the matrices of a body of varying thickness change with a parameter.

Where faces are not level the matrices follow dimensions through quotients, so the body is
assembled a little below and a little above the parameter's value, on the moved mesh; the
difference is as good as that of the blanks themselves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp

from modewright.modes.assembly import assemble_body
from modewright.modes.attached_mass import mass_factor
from modewright.modes.column import Column
from modewright.modes.holds import hold_body
from modewright.modes.mesh_motion import mesh_rates

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.body_change import BodyChange
    from modewright.modes.elasticity import ElasticSystem, Term
    from modewright.modes.solution import Solution

__all__ = ["MatrixRate", "blocks_of_terms", "matrix_of_blocks", "varying_rates"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MatrixRate:
    """Change of the matrices per unit of one parameter, over the unknowns node by node.

    Parameters
    ----------
    stiffness, mass : matrices of blocks, shape (unknowns, unknowns)
        Held unknowns included.
    added, added_rate : float arrays, shape (unknowns, 6 * masses)
        Factor F of the added mass F Fᵀ, and its change.
    points : float array, shape (points of the mesh, 2)
        Motion of the mesh. [m]
    """

    stiffness: sp.bsr_matrix
    mass: sp.bsr_matrix
    added: NDArray[np.float64]
    added_rate: NDArray[np.float64]
    points: NDArray[np.float64]

    def weighed(self, fields: NDArray[np.float64]) -> NDArray[np.float64]:
        """DM/dp times fields, shape (unknowns, fields)."""
        lumped = self.added @ (self.added_rate.T @ fields)
        lumped += self.added_rate @ (self.added.T @ fields)
        return np.asarray(self.mass @ fields + lumped, dtype=np.float64)

    def applied(
        self, fields: NDArray[np.float64], eigenvalue: float | NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """(dK/dp - λ dM/dp) times fields, shape (unknowns, fields); one λ, or one for each."""
        return np.asarray(self.stiffness @ fields - eigenvalue * self.weighed(fields))


def varying_rates(solution: Solution, changes: Sequence[BodyChange]) -> tuple[MatrixRate, ...]:
    """Find what every parameter changes.

    Parameters
    ----------
    solution : Solution
        Of a body with a relief.
    changes : sequence of BodyChange
        Of its blank and material.

    Returns
    -------
    tuple of MatrixRate
    """
    if not changes:
        return ()
    moved = mesh_rates(solution, changes)
    return tuple(
        _rate(solution, change, moved.points[..., k], moved.levels[:, k])
        for k, change in enumerate(changes)
    )


def _rate(
    solution: Solution,
    change: BodyChange,
    points: NDArray[np.float64],
    levels: NDArray[np.float64],
) -> MatrixRate:
    step = change.step
    below = _moved(solution, change.lower, change.lower_material, -step * points, -step * levels)
    above = _moved(solution, change.upper, change.upper_material, step * points, step * levels)
    unknowns = solution.added.shape[0] * solution.added.shape[1] * solution.added.shape[2]
    return MatrixRate(
        stiffness=matrix_of_blocks(
            solution.system, (above.stiffness - below.stiffness) / (2 * step)
        ),
        mass=matrix_of_blocks(solution.system, (above.mass - below.mass) / (2 * step)),
        added=solution.added.reshape(unknowns, -1),
        added_rate=((above.added - below.added) / (2 * step)).reshape(unknowns, -1),
        points=points,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Moved:
    """Blocks of the pairs of nodes, shape (pairs, side, side), and the factor of added mass."""

    stiffness: NDArray[np.float64]
    mass: NDArray[np.float64]
    added: NDArray[np.float64]


def _moved(
    solution: Solution,
    blank: Blank,
    material: IsotropicSolid,
    points: NDArray[np.float64],
    levels: NDArray[np.float64],
) -> _Moved:
    body, system = solution.body, solution.system
    plane = replace(body.plane, points_m=body.plane.points_m + points)
    column = Column(
        levels_m=system.column.levels_m + levels, order=system.column.order, is_mirrored=False
    )
    free = assemble_body(plane, body.regions, blank, material, column, system.space.order)
    held = hold_body(free, plane, body.regions, blank.hold)
    return _Moved(
        stiffness=blocks_of_terms(held, held.stiffness),
        mass=blocks_of_terms(held, held.mass),
        added=mass_factor(held, plane, body.regions, blank.masses),
    )


def blocks_of_terms(system: ElasticSystem, terms: tuple[Term, ...]) -> NDArray[np.float64]:
    """Sum of terms: the block of every pair of nodes of the pattern."""
    side = system.shape[1] * system.shape[2]
    pairs = len(system.pattern.rows)
    data = sum(
        (term.products @ term.blocks.reshape(-1, side * side) for term in terms),
        start=np.zeros((pairs, side * side)),
    )
    return np.asarray(data, dtype=np.float64).reshape(pairs, side, side)


def matrix_of_blocks(system: ElasticSystem, blocks: NDArray[np.float64]) -> sp.bsr_matrix:
    """Full symmetric matrix of the blocks of the lower pattern."""
    pattern = system.pattern
    below = pattern.rows != pattern.columns
    rows = np.concatenate([pattern.rows, pattern.columns[below]])
    columns = np.concatenate([pattern.columns, pattern.rows[below]])
    every = np.concatenate([blocks, blocks[below].swapaxes(1, 2)])
    order = np.lexsort((columns, rows))
    nodes = system.shape[0]
    starts = np.searchsorted(rows[order], np.arange(nodes + 1))
    size = nodes * blocks.shape[1]
    return sp.bsr_matrix((every[order], columns[order], starts), shape=(size, size))
