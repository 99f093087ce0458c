"""Change of whole matrices with a parameter, for bodies that are not flat sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.modes.folded_rate import folded_rates
from modewright.modes.varying_rate import varying_rates

if TYPE_CHECKING:
    from collections.abc import Sequence

    from modewright.modes.body_change import BodyChange
    from modewright.modes.solution import Solution
    from modewright.modes.varying_rate import MatrixRate

__all__ = ["matrix_rates"]


def matrix_rates(solution: Solution, changes: Sequence[BodyChange]) -> tuple[MatrixRate, ...]:
    """Find what every parameter changes.

    Parameters
    ----------
    solution : Solution
        Of a bent blank or one with a relief.
    changes : sequence of BodyChange
        Of its blank and material.

    Returns
    -------
    tuple of MatrixRate
    """
    if solution.system.folded is not None:
        return folded_rates(solution, changes)
    return varying_rates(solution, changes)
