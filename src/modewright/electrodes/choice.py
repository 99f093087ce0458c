"""Which places to take so that one mode is heard and others are not.

With the coupling density c(x) of each mode, a plate that takes the share u(x) of every place hears
mode m with ``∫ u c_m dA``. Taking u to hear the wanted mode most while the rejected ones cancel is
a linear programme, the solution of which is at a limit nearly everywhere: by duality it takes
exactly the places where ``c_w + Σ λ_r c_r > 0``, the multipliers λ being those of the rejected
modes. The edge of the best plate is thus a contour line of a sum of mode shapes.

References
----------
C.-K. Lee & F. C. Moon, Modal sensors/actuators, J. Appl. Mech. 57 (1990) 434 (weights that are
orthogonal to all modes but one); Luenberger, Optimization by Vector Space Methods, 1969, ch. 8
(duality); both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array, hstack

from modewright.checks import check_shape, frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["ChosenPlaces", "choose_places", "slice_weights"]

_AT_LIMIT = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChosenPlaces:
    """The best share of every cell, and what decides about it.

    Parameters
    ----------
    share : float array, shape (cells,)
        From 0, or -1, to 1.
    wanted_factor : float array, shape (wanted,)
        Part of each wanted mode in the deciding sum.
    rejected_factor : float array, shape (rejected,)
        Part of each rejected mode in it: the share is at its upper limit where
        ``wanted @ wanted_factor + rejected @ rejected_factor > 0``.
    kept : float
        Least coupling to a wanted mode, over that of taking every cell with the better sign.
    """

    share: NDArray[np.float64]
    wanted_factor: NDArray[np.float64]
    rejected_factor: NDArray[np.float64]
    kept: float

    def __post_init__(self) -> None:
        for name in ("share", "wanted_factor", "rejected_factor"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def between(self) -> int:
        """Number of cells at neither limit: at most one for each mode."""
        low = float(np.sign(self.share.min()))
        away = np.minimum(np.abs(self.share - low), np.abs(self.share - 1))
        return int(np.count_nonzero(away > _AT_LIMIT))


def choose_places(
    wanted: NDArray[np.float64], rejected: NDArray[np.float64], *, is_pair: bool = False
) -> ChosenPlaces | None:
    """Find the shares that hear the wanted modes most while the rejected ones cancel.

    Parameters
    ----------
    wanted : float array, shape (cells, wanted)
        Coupling of each cell taken as a whole.
    rejected : float array, shape (cells, rejected)
    is_pair : bool
        Whether a second plate may take places with the opposite sign.

    Returns
    -------
    ChosenPlaces or None
        Of several wanted modes the weakest is as strong as can be, measured by what the whole area,
        each place with the better sign, would hear of it. None if nothing but zero rejects them.

    Raises
    ------
    ValueError
        If the shapes disagree.
    """
    check_shape(rejected, "rejected", (len(wanted), None))
    scale = np.abs(wanted).sum(axis=0)
    size = np.abs(rejected).sum(axis=0)
    even, odd = wanted / scale, rejected / np.where(size > 0, size, 1.0)
    found: ChosenPlaces | None = None
    for rest in product((1.0, -1.0), repeat=wanted.shape[1] - 1):
        # A pair may swap its plates; one plate hears with the sign that its places have.
        for first in (1.0,) if is_pair else (1.0, -1.0):
            sign = np.array([first, *rest])
            one = _best(even * sign, odd, -1.0 if is_pair else 0.0)
            if one is not None and (found is None or one.kept > found.kept):
                found = ChosenPlaces(
                    share=one.share,
                    wanted_factor=one.wanted_factor * sign / scale,
                    rejected_factor=one.rejected_factor / np.where(size > 0, size, 1.0),
                    kept=one.kept,
                )
    return found


def _best(
    wanted: NDArray[np.float64], rejected: NDArray[np.float64], low: float
) -> ChosenPlaces | None:
    """Maximise t with ``wanted.T @ u >= t`` and ``rejected.T @ u = 0``."""
    cells, count = wanted.shape
    aim = np.zeros(cells + 1)
    aim[-1] = -1.0
    solve: Any = linprog  # its stubs do not know sparse matrices
    result = solve(
        aim,
        A_ub=hstack([csr_array(-wanted.T), csr_array(np.ones((count, 1)))]),
        b_ub=np.zeros(count),
        A_eq=hstack([csr_array(rejected.T), csr_array((rejected.shape[1], 1))]),
        b_eq=np.zeros(rejected.shape[1]),
        bounds=[*([(low, 1.0)] * cells), (0.0, 1.0)],
        method="highs",
    )
    if result.status != 0 or result.x[-1] < _AT_LIMIT:
        return None
    return ChosenPlaces(
        share=result.x[:-1],
        wanted_factor=-np.asarray(result.ineqlin.marginals),
        rejected_factor=np.asarray(result.eqlin.marginals),
        kept=float(result.x[-1]),
    )


def slice_weights(coupling: NDArray[np.float64], wanted: int) -> NDArray[np.float64]:
    """Weights of plates whose sum hears one mode and none of the others.

    Parameters
    ----------
    coupling : float array, shape (plates, modes)
    wanted : int
        Column that is heard.

    Returns
    -------
    float array, shape (plates,)
        Largest magnitude 1. The part of the wanted column that is orthogonal to all others: of all
        weights of that length the ones that hear it most.

    Raises
    ------
    ValueError
        If the plates cannot tell the mode from the others.
    """
    others = np.delete(coupling, wanted, axis=1)
    size = np.linalg.norm(others, axis=0)
    basis, values, _ = np.linalg.svd(others / np.where(size > 0, size, 1.0), full_matrices=False)
    basis = basis[:, values > 1e-9]
    target = coupling[:, wanted]
    weights = target - basis @ (basis.T @ target)
    weights = weights - basis @ (basis.T @ weights)
    if not np.linalg.norm(weights) > 1e-9 * np.linalg.norm(target):
        raise ValueError("coupling: expected plates that tell the wanted mode from the others")
    return weights / np.abs(weights).max()
