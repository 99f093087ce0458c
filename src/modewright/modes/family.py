"""One family of a body's motions, as matrices on a plain vector of unknowns.

A body that is its own mirror image has two: bending and motion within its plane.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp

from modewright.modes.factorise import factorise

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem, Term
    from modewright.modes.factorise import Factorised, Product

__all__ = ["Family", "rigid_motions"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Family:
    """Motions in which only some unknowns of every node take part.

    Parameters
    ----------
    system : ElasticSystem
    members : bool array, shape (3, functions)
        One of `ElasticSystem.families`.
    """

    system: ElasticSystem
    members: NDArray[np.bool_]

    @property
    def is_free(self) -> NDArray[np.bool_]:
        """Which unknowns exist and are not held, shape (unknowns,)."""
        return self.system.is_free[:, self.members].ravel()

    def gathered(self, field: NDArray[np.float64]) -> NDArray[np.float64]:
        """Unknowns of the family, (unknowns, k), out of a field, (nodes, 3, functions, k)."""
        members = field[:, self.members]
        return members.reshape(members.shape[0] * members.shape[1], *members.shape[2:])

    def spread(self, unknowns: NDArray[np.float64]) -> NDArray[np.float64]:
        """Field, (nodes, 3, functions, k), of unknowns, (unknowns, k)."""
        field = np.zeros((*self.system.shape, unknowns.shape[1]))
        field[:, self.members] = unknowns.reshape(self.system.shape[0], -1, unknowns.shape[1])
        return field

    def weighing(self) -> Product:
        """Product with M, without what is attached."""
        free = self.is_free.astype(np.float64)
        parts = [
            (_symmetric(self.system, term.products[:, 0]), self._blocks(term)[0])
            for term in self.system.mass
        ]
        size, side = self.system.shape[0], int(self.members.sum())

        def weigh(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
            field = vectors.reshape(size, side, -1).swapaxes(1, 2)
            count = field.shape[1]
            rows = field.reshape(-1, side)
            weighed = sum(
                (matrix @ (rows @ block).reshape(size, -1) for matrix, block in parts),
                start=np.zeros((size, count * side)),
            )
            weighed = weighed.reshape(size, count, side).swapaxes(1, 2).reshape(vectors.shape)
            return weighed * (free if vectors.ndim == 1 else free[:, None])

        return weigh

    def shifted_solve(self, shift_rad2_s2: float) -> Product:
        """Product with (K + shift M)⁻¹, without what is attached."""
        return self.shifted(shift_rad2_s2).solve

    def shifted(self, shift_rad2_s2: float) -> Factorised:
        """K + shift M, without what is attached, and its inverse."""
        terms = [(term, 1.0) for term in self.system.stiffness]
        if shift_rad2_s2 > 0:
            terms += [(term, shift_rad2_s2) for term in self.system.mass]
        pattern = self.system.pattern
        side = int(self.members.sum())
        data = np.zeros((len(pattern.rows), side * side))
        for term, weight in terms:
            data += term.products @ (weight * self._blocks(term)).reshape(-1, side * side)
        on_diagonal = pattern.rows == pattern.columns
        blocks = data.reshape(-1, side, side)
        low_i, low_j = np.tril_indices(side)
        every_i, every_j = (grid.ravel() for grid in np.indices((side, side)))
        rows: list[NDArray[np.int32]] = []
        columns: list[NDArray[np.int32]] = []
        values: list[NDArray[np.float64]] = []
        for which, i, j in ((on_diagonal, low_i, low_j), (~on_diagonal, every_i, every_j)):
            rows.append(_places(pattern.rows[which], i, side))
            columns.append(_places(pattern.columns[which], j, side))
            values.append(blocks[which][:, i, j].ravel())
        return factorise(
            np.concatenate(rows), np.concatenate(columns), np.concatenate(values), self.is_free
        )

    def _blocks(self, term: Term) -> NDArray[np.float64]:
        return term.blocks[:, self.members][:, :, self.members]


def _places(nodes: NDArray[np.int64], members: NDArray[np.int64], side: int) -> NDArray[np.int32]:
    """Numbers of the unknowns of nodes, node by node."""
    return np.add.outer(nodes * side, members).ravel().astype(np.int32)


def _symmetric(system: ElasticSystem, lower: NDArray[np.float64]) -> sp.csr_matrix:
    """Full matrix over nodes from the values of the lower pattern."""
    pattern = system.pattern
    size = system.shape[0]
    below = pattern.rows != pattern.columns
    rows = np.concatenate([pattern.rows, pattern.columns[below]])
    columns = np.concatenate([pattern.columns, pattern.rows[below]])
    values = np.concatenate([lower, lower[below]])
    return sp.csr_matrix((values, (rows, columns)), shape=(size, size))


def rigid_motions(system: ElasticSystem) -> NDArray[np.float64]:
    """Three translations and three rotations, shape (nodes, 3, functions, 6)."""
    column = system.column
    one = column.coefficients(np.ones(column.function_count))
    size = float(np.ptp(system.space.nodes_m, axis=0).max())
    x, y, z = np.moveaxis(system.places_m / size, 1, 0)
    motions = np.zeros((*system.shape, 6))
    for component in range(3):
        motions[:, component, :, component] = one
    motions[:, 1, :, 3], motions[:, 2, :, 3] = -z, y
    motions[:, 0, :, 4], motions[:, 2, :, 4] = z, -x
    motions[:, 0, :, 5], motions[:, 1, :, 5] = -y, x
    return motions * system.is_free[..., None]
