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

from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.optimize import linprog

from modewright.checks import check_shape, frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["ChosenPlaces", "Slips", "choose_places", "slice_weights"]

_AT_LIMIT = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slips:
    """What small slips of the made plate would let through, and how much of it is welcome.

    Parameters
    ----------
    heard : float array, shape (cells, slips)
        What each cell would add, in the unit of the couplings.
    limit : float
        Largest welcome sum over the coupling to the weakest wanted mode.
    cost : float
        Signal, as a share of all there is, given away for every unit beyond that limit.
    """

    heard: NDArray[np.float64]
    limit: float
    cost: float = 4.0


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
        ``wanted @ wanted_factor + rejected @ rejected_factor + slips @ slip_factor > 0``.
    slip_factor : float array, shape (slips,)
        Part of each slip in it.
    kept : float
        Least coupling to a wanted mode, over that of taking every cell with the better sign.
    """

    share: NDArray[np.float64]
    wanted_factor: NDArray[np.float64]
    rejected_factor: NDArray[np.float64]
    slip_factor: NDArray[np.float64]
    kept: float

    def __post_init__(self) -> None:
        for name in ("share", "wanted_factor", "rejected_factor", "slip_factor"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def between(self) -> int:
        """Number of cells at neither limit: at most one for each mode."""
        low = float(np.sign(self.share.min()))
        away = np.minimum(np.abs(self.share - low), np.abs(self.share - 1))
        return int(np.count_nonzero(away > _AT_LIMIT))


def choose_places(
    wanted: NDArray[np.float64],
    rejected: NDArray[np.float64],
    *,
    is_pair: bool = False,
    slips: Slips | None = None,
    taken: NDArray[np.float64] | None = None,
    bare: NDArray[np.float64] | None = None,
) -> ChosenPlaces | None:
    """Find the shares that hear the wanted modes most while the rejected ones cancel.

    Parameters
    ----------
    wanted : float array, shape (cells, wanted)
        Coupling of each cell taken as a whole.
    rejected : float array, shape (cells, rejected)
    is_pair : bool
        Whether a second plate may take places with the opposite sign.
    slips : Slips, optional
        What should stay small besides.
    taken : float array, shape (cells,), optional
        Part of each cell that is copper anyway; below zero for that of the second plate.
    bare : float array, shape (cells,), optional
        Part of each cell that the second plate has to leave bare; below zero for the first.

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
    size = np.where(size > 0, size, 1.0)
    if slips is None:
        slips = Slips(heard=np.zeros((len(wanted), 0)), limit=1.0)
    check_shape(slips.heard, "slips.heard", (len(wanted), None))
    unit = float(scale.min())
    even, odd = wanted / scale, rejected / size
    scaled = replace(slips, heard=slips.heard / unit)
    bounds = _bounds(len(wanted), taken, bare, is_pair=is_pair)
    found: ChosenPlaces | None = None
    for rest in product((1.0, -1.0), repeat=wanted.shape[1] - 1):
        # A pair may swap its plates; one plate hears with the sign that its places have.
        for first in (1.0,) if is_pair else (1.0, -1.0):
            sign = np.array([first, *rest])
            one = _best(even * sign, odd, bounds, scaled)
            if one is not None and (found is None or one.kept > found.kept):
                found = replace(
                    one,
                    wanted_factor=one.wanted_factor * sign / scale,
                    rejected_factor=one.rejected_factor / size,
                    slip_factor=one.slip_factor / unit,
                )
    return found


def _bounds(
    cells: int,
    taken: NDArray[np.float64] | None,
    bare: NDArray[np.float64] | None,
    *,
    is_pair: bool,
) -> NDArray[np.float64]:
    """Least and largest share of each cell, shape (cells, 2)."""
    span = 2.0 if is_pair else 1.0
    low, high = np.full(cells, 1.0 - span), np.ones(cells)
    for part, size in ((taken, span), (bare, 1.0)):
        if part is not None:
            low += size * np.clip(part, 0.0, 1.0)
            high -= size * np.clip(-part, 0.0, 1.0)
    # Where both plates have something, neither has all of it.
    middle = (low + high) / 2
    return np.stack([np.minimum(low, middle), np.maximum(high, middle)], axis=1)


def _best(
    wanted: NDArray[np.float64],
    rejected: NDArray[np.float64],
    bounds: NDArray[np.float64],
    slips: Slips,
) -> ChosenPlaces | None:
    """Maximise t - cost Σe: ``wanted.T @ u >= t``, ``rejected.T @ u = 0``, slips <= limit t + e.

    That each slip may go beyond its limit at a cost keeps the programme soluble.
    """
    cells, count = wanted.shape
    others = slips.heard.shape[1]
    loose = np.vstack([np.eye(others)] * 2)
    # The unknowns are the shares u, then t, then by how much each slip is beyond its limit.
    above = np.block(
        [
            [-wanted.T, np.ones((count, 1)), np.zeros((count, others))],
            [
                np.vstack([slips.heard.T, -slips.heard.T]),
                np.full((2 * others, 1), -slips.limit),
                -loose,
            ],
        ]
    )
    solve: Any = linprog  # its stubs do not know all that it takes
    result = solve(
        np.concatenate([np.zeros(cells), [-1.0], np.full(others, slips.cost)]),
        A_ub=above,
        b_ub=np.zeros(len(above)),
        A_eq=np.hstack([rejected.T, np.zeros((rejected.shape[1], 1 + others))]),
        b_eq=np.zeros(rejected.shape[1]),
        bounds=np.vstack([bounds, [[0.0, 1.0]], np.tile([0.0, np.inf], (others, 1))]),
        method="highs",
    )
    if result.status != 0 or result.x[cells] < _AT_LIMIT:
        return None
    prices = np.asarray(result.ineqlin.marginals)
    return ChosenPlaces(
        share=result.x[:cells],
        wanted_factor=-prices[:count],
        rejected_factor=np.asarray(result.eqlin.marginals),
        slip_factor=prices[count : count + others] - prices[count + others :],
        kept=float(result.x[cells]),
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
