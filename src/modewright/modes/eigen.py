"""The lowest modes of a body: each family by itself, then together if something couples them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import SolveError
from modewright.modes.family import Family
from modewright.modes.search import ModeSearch
from modewright.modes.subspace import coupled_modes, refined_modes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.modes.elasticity import ElasticSystem
    from modewright.modes.search import FamilyModes

__all__ = ["lowest_modes"]

# More modes than wanted hasten the next solution, which starts from them.
_SPARE = 4


def lowest_modes(
    system: ElasticSystem,
    added_mass: NDArray[np.float64],
    count: int,
    shift_rad2_s2: float,
    start: NDArray[np.float64] | None = None,
    *,
    shape_error: float = 1e-8,
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
        σ, > 0 for a free body, else 0. [rad²/s²]
    start : float array, shape (nodes, 3, functions, any number), optional
        Shapes of at least as many modes, about: hastens the search. [1/sqrt(kg)]
    shape_error : float, default 1e-8
        Relative error that shapes may have, about; that of ω² + σ is the square.

    Returns
    -------
    omega2_rad2_s2 : float array, shape (modes,)
        Rising; `count` or a few more, of which only `count` are accurate. [rad²/s²]
    shapes : float array, shape (nodes, 3, functions, modes)
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
    families = [Family(system=system, members=members) for members in system.families]
    searches = [ModeSearch(family, added_mass, shift_rad2_s2) for family in families]
    if start is not None:
        guesses = [family.gathered(start) for family in families]
        omega2, parts = refined_modes(searches, guesses, start.shape[-1], count, shape_error)
        return omega2, _joined(families, parts)
    apart = _apart(searches, count + _SPARE, shape_error)
    # A mass on one face couples what the sheet by itself keeps apart.
    if len(families) > 1 and added_mass.shape[-1] > 0:
        omega2, parts = coupled_modes(searches, apart, count, shape_error)
        return omega2, _joined(families, parts)
    omega2 = np.concatenate([values for values, _ in apart])
    fields = [family.spread(part) for family, (_, part) in zip(families, apart, strict=True)]
    order = np.argsort(omega2, kind="stable")
    return omega2[order], np.concatenate(fields, axis=-1)[..., order]


def _apart(searches: Sequence[ModeSearch], count: int, shape_error: float) -> list[FamilyModes]:
    """Modes of each family as if nothing coupled them."""
    first, *others = searches
    lowest = first.lowest(count, shape_error)
    return [lowest, *(search.among(lowest[0], shape_error) for search in others)]


def _joined(
    families: Sequence[Family], parts: Sequence[NDArray[np.float64]]
) -> NDArray[np.float64]:
    fields = [family.spread(part) for family, part in zip(families, parts, strict=True)]
    return np.sum(fields, axis=0)
