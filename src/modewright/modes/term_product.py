"""Product of a sum of terms with fields, without writing the matrix out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem, Term

__all__ = ["TermProduct"]


class TermProduct:
    """Symmetric matrix given as a sum of terms.

    Parameters
    ----------
    system : ElasticSystem
        Whose pattern the terms follow.
    terms : iterable of Term
    """

    def __init__(self, system: ElasticSystem, terms: Iterable[Term]) -> None:
        pattern, size = system.pattern, system.shape[0]
        halved = np.where(pattern.rows == pattern.columns, 0.5, 1.0)
        self._parts: list[tuple[sp.csr_matrix, NDArray[np.float64]]] = []
        for term in terms:
            blocks = term.blocks.reshape(len(term.blocks), np.prod(system.shape[1:], dtype=int), -1)
            for kind, block in enumerate(blocks):
                values = term.products[:, kind] * halved
                if np.any(values) and np.any(block):
                    place = (pattern.rows, pattern.columns)
                    self._parts.append((sp.csr_matrix((values, place), (size, size)), block))

    def __call__(self, fields: NDArray[np.float64]) -> NDArray[np.float64]:
        """Product with fields of shape (nodes, 3, functions, …)."""
        size, width = fields.shape[0], fields.shape[1] * fields.shape[2]
        # Unknowns of a node last, so that a block acts by one product of matrices.
        turned = np.moveaxis(fields.reshape(size, width, -1), 1, 2)
        total = np.zeros_like(turned)
        for matrix, block in self._parts:
            for half, part in ((matrix, block.T), (matrix.T, block)):
                acted = (turned @ part).reshape(size, -1)
                total += np.asarray(half @ acted).reshape(total.shape)
        return np.moveaxis(total, 2, 1).reshape(fields.shape)
