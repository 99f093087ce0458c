"""The lowest modes of K φ = ω² M φ by shift-invert Lanczos.

Ericsson & Ruhe, Math. Comp. 35 (1980) 1251: the operator (K - σ M)⁻¹ M turns the lowest modes into
the largest, well separated ones.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from modewright.errors import SolveError
from modewright.modes.family import Family, rigid_motions

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.factorise import Product

__all__ = ["ModeSearch", "lowest_modes"]

# The residual of a Lanczos eigenvalue is the square of the vector's: 1e-6 leaves 1e-12.
_TOLERANCE = 1e-6
_FIRST_IN_PLANE = 4


def lowest_modes(
    system: ElasticSystem,
    added_mass: NDArray[np.float64],
    count: int,
    shift_rad2_s2: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Find the lowest modes.

    Parameters
    ----------
    system : ElasticSystem
    added_mass : float array, shape (nodes, 3, functions, rank)
        Factor of the mass matrix of attached bodies. [sqrt(kg)]
    count : int
        How many; rigid-body motions do not count.
    shift_rad2_s2 : float
        The shift is minus this; > 0 for a free body, else 0. [rad²/s²]

    Returns
    -------
    omega2_rad2_s2 : float array, shape (count,)
        Rising. [rad²/s²]
    shapes : float array, shape (nodes, 3, functions, count)
        Mass-normalised. [1/sqrt(kg)]

    Raises
    ------
    SolveError
        If the iteration does not converge or the body has too few unknowns.
    """
    if count >= int(system.is_free.sum()) // 6:
        raise SolveError(
            f"modes: expected fewer than {int(system.is_free.sum()) // 6} for this mesh, got "
            f"{count}.",
            hint="Ask for fewer modes or for a finer accuracy.",
        )
    families = tuple(Family(system=system, members=m) for m in system.families)
    # A mass on one face couples what the sheet by itself keeps apart.
    is_coupled = added_mass.shape[-1] > 0
    groups = (families,) if is_coupled else tuple((family,) for family in families)
    first, *others = (ModeSearch(group, added_mass, shift_rad2_s2) for group in groups)
    omega2, shapes = first.lowest(count)
    for search in others:
        more, more_shapes = search.among(omega2)
        omega2 = np.concatenate([omega2, more])
        shapes = np.concatenate([shapes, more_shapes], axis=-1)
    order = np.argsort(omega2, kind="stable")[:count]
    return omega2[order], shapes[..., order]


class ModeSearch:
    """Search for modes of one family, or of families that attached masses couple.

    The stiffness of each family is factorised by itself and kept.

    Parameters
    ----------
    families : tuple of Family
        Their unknowns are joined into one vector.
    added_mass : float array, shape (nodes, 3, functions, rank)
        Factor of the mass matrix of attached bodies. [sqrt(kg)]
    shift : float
        The shift is minus this; > 0 for a free body, else 0. [rad²/s²]
    """

    def __init__(
        self, families: tuple[Family, ...], added_mass: NDArray[np.float64], shift: float
    ) -> None:
        self._families = families
        self._is_free = np.concatenate([family.is_free for family in families])
        self._cuts = np.cumsum([len(family.is_free) for family in families])[:-1]
        self._shift = shift
        factor = self._gathered(added_mass)
        self._weigh = self._weighing(factor)
        plain = self._joined([family.shifted_solve(shift) for family in families])
        self._solve = _with_added_mass(plain, factor, shift)
        if shift > 0:
            rigid = self._gathered(rigid_motions(families[0].system))
            size = np.linalg.norm(rigid, axis=0)
            # A motion that this family does not know is zero but for round-off.
            rigid = rigid[:, size > 1e-9 * size.max()]
            self._solve = _without_rigid_motion(self._solve, self._weigh, rigid)

    def _gathered(self, field: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.concatenate([family.gathered(field) for family in self._families])

    def _spread(self, unknowns: NDArray[np.float64]) -> NDArray[np.float64]:
        parts = np.split(unknowns, self._cuts)
        fields = [f.spread(part) for f, part in zip(self._families, parts, strict=True)]
        return np.sum(fields, axis=0)

    def _joined(self, products: list[Product]) -> Product:
        """Product with a matrix that has no part between the families."""
        if len(products) == 1:
            return products[0]

        def product(vector: NDArray[np.float64]) -> NDArray[np.float64]:
            parts = np.split(vector, self._cuts)
            return np.concatenate([p(part) for p, part in zip(products, parts, strict=True)])

        return product

    def _weighing(self, factor: NDArray[np.float64]) -> Product:
        plain = self._joined([family.weighing() for family in self._families])
        if factor.shape[1] == 0:
            return plain
        held = factor * self._is_free[:, None]

        def weigh(vector: NDArray[np.float64]) -> NDArray[np.float64]:
            return plain(vector) + held @ (held.T @ vector)

        return weigh

    def lowest(self, count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Lowest modes, rising, with their fields (nodes, 3, functions, modes)."""
        size = len(self._is_free)

        def operator(function: Product) -> LinearOperator:
            return LinearOperator((size, size), matvec=function, dtype=np.dtype(np.float64))

        start = np.random.default_rng(0).standard_normal(size) * self._is_free
        try:
            omega2, unknowns = eigsh(
                operator(self._solve),
                k=count,
                M=operator(self._weigh),
                sigma=-self._shift,
                OPinv=operator(self._solve),
                tol=_TOLERANCE,
                v0=start,
                ncv=min(2 * count + 4, size),
            )
        except ArpackNoConvergence as error:
            raise SolveError(
                f"modes: expected {count} converged modes, got {len(error.eigenvalues)}.",
                hint="Ask for fewer modes or another accuracy.",
            ) from error
        order = np.argsort(omega2)
        return omega2[order], self._spread(unknowns[:, order])

    def among(
        self, others_rad2_s2: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """All modes of the family among the lowest, as many as there are others, of both."""
        most = len(others_rad2_s2)
        count = min(_FIRST_IN_PLANE, most)
        while True:
            omega2, shapes = self.lowest(count)
            highest = np.sort(np.concatenate([omega2, others_rad2_s2]))[most - 1]
            if omega2[-1] >= highest or count == most:
                return omega2, shapes
            count = min(2 * count, most)


def _with_added_mass(plain: Product, factor: NDArray[np.float64], shift: float) -> Product:
    """Attached masses change the shifted matrix by shift F Fᵀ (Woodbury's identity)."""
    if shift == 0 or factor.shape[1] == 0:
        return plain
    spread = np.stack([plain(column) for column in factor.T], axis=1)
    core = np.linalg.inv(np.eye(factor.shape[1]) / shift + factor.T @ spread)

    def solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        found = plain(right)
        return found - spread @ (core @ (factor.T @ found))

    return solve


def _without_rigid_motion(solve: Product, weigh: Product, rigid: NDArray[np.float64]) -> Product:
    """Keep the iteration orthogonal to the rigid motions, which are known exactly.

    Left to the iteration, they would come out at the round-off of the stiffness, which for very
    thin sheet is not far below the lowest bending modes.
    """
    weighed = np.stack([weigh(column) for column in rigid.T], axis=1)
    to_unit = np.linalg.inv(np.linalg.cholesky(rigid.T @ weighed)).T
    rigid, weighed = rigid @ to_unit, weighed @ to_unit

    def solve_elastic(right: NDArray[np.float64]) -> NDArray[np.float64]:
        found = solve(right - weighed @ (rigid.T @ right))
        return found - rigid @ (weighed.T @ found)

    return solve_elastic
