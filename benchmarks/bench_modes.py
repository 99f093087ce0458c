"""Time of each accuracy on a forked reed, beside scipy's factorisation of the same matrices.

``OMP_NUM_THREADS=1 python benchmarks/bench_modes.py`` prints a table. Every figure is the best of
several runs on one core, without the import of the libraries.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING
from unittest import mock

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from modewright.geometry.build import build_blank
from modewright.geometry.families.forked_reed import Arm, ForkedReed
from modewright.geometry.support import Clamped
from modewright.materials.table import material_named
from modewright.modes.factorise import Factorised
from modewright.modes.solid import ACCURACIES, solve_modes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.solid import Accuracy

COUNT = 12
REPEATS = 4


def forked_reed() -> Blank:
    """Return the reed of the benchmark: three arms, 80 x 22 x 1 mm."""
    arms = tuple(
        Arm(length_m=length, width_m=width)
        for length, width in ((36.5e-3, 6e-3), (43.8e-3, 7e-3), (31.5e-3, 6e-3))
    )
    reed = ForkedReed(
        base_length_m=26.5e-3, arms=arms, slot_widths_m=(1.5e-3, 1.5e-3), tip_radius_m=0.5e-3
    )
    return build_blank(reed, (), Clamped(), 1e-3, Path())


def scipy_factorise(
    rows: NDArray[np.int32],
    columns: NDArray[np.int32],
    values: NDArray[np.float64],
    is_free: NDArray[np.bool_],
) -> Factorised:
    """As `modewright.modes.factorise.factorise`, by the general factorisation of scipy."""
    lower = sp.csc_matrix((values, (rows, columns)), shape=(len(is_free), len(is_free)))
    full = lower + sp.tril(lower, -1).T
    inside = np.nonzero(is_free)[0]
    factors = splu(
        sp.csc_matrix(full[inside][:, inside]),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )

    def solve(right: NDArray[np.float64]) -> NDArray[np.float64]:
        found = np.zeros_like(right)
        found[inside] = factors.solve(right[inside])
        return found

    def multiply(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
        found = np.zeros_like(vectors)
        found[inside] = np.asarray(full @ vectors)[inside]
        return found

    return Factorised(solve=solve, multiply=multiply)


def best_time_s(blank: Blank, material: IsotropicSolid, accuracy: Accuracy, repeats: int) -> float:
    """Return the shortest time of several runs. [s]"""
    best = np.inf
    for _ in range(repeats):
        start = time.perf_counter()
        solve_modes(blank, material, count=COUNT, accuracy=accuracy)
        best = min(best, time.perf_counter() - start)
    return best


def main() -> None:
    """Print the table."""
    blank, material = forked_reed(), material_named("stainless 301 half hard").solid
    print(f"{COUNT} modes of a forked reed   time    scipy   ratio")
    for accuracy in ACCURACIES:
        ours = best_time_s(blank, material, accuracy, REPEATS)
        with mock.patch("modewright.modes.family.factorise", scipy_factorise):
            theirs = best_time_s(blank, material, accuracy, 1)
        print(f"{accuracy:24s} {ours:7.2f} s {theirs:7.2f} s {theirs / ours:6.1f}")


if __name__ == "__main__":
    main()
