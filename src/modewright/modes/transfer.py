"""Shapes of one solution as functions of a richer one on the same mesh."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.triangle import basis_values, lattice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem

__all__ = ["transferred"]


def transferred(
    shapes: NDArray[np.float64], old: ElasticSystem, new: ElasticSystem
) -> NDArray[np.float64]:
    """Write shapes with the functions of a system of higher orders on the same mesh and levels.

    Parameters
    ----------
    shapes : float array, shape (nodes, 3, functions, modes)
        Of the old system.
    old, new : ElasticSystem

    Returns
    -------
    float array, shape (new nodes, 3, new functions, modes)
        The same displacements.
    """
    weights, _ = basis_values(old.space.order, lattice(new.space.order))
    through = new.column.from_lower(old.column)
    risen = np.einsum("gf,ncfm->ncgm", through, shapes, optimize=True)
    within = np.tensordot(weights, risen[old.space.element_nodes], axes=(1, 1)).swapaxes(0, 1)
    result = np.zeros((*new.shape, shapes.shape[-1]))
    result[new.space.element_nodes] = within
    return result * new.is_free[..., None]
