"""How far a number can be trimmed before there is no such design any more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.chain.places import place_design
from modewright.design.address import check_design, replaced
from modewright.errors import ModewrightError

if TYPE_CHECKING:
    from pathlib import Path

    from modewright.design.schema import Design
    from modewright.studies.inputs import Move

__all__ = ["trim_range"]

# Halvings of the reach: a limit is found to a 4000th of it.
_HALVINGS = 12


def trim_range(design: Design, folder: Path, trim: Move, reach: float) -> tuple[float, float]:
    """Most that a number may be taken down and up, every other number as designed.

    Parameters
    ----------
    design : Design
    folder : Path
        From which file names in it are counted.
    trim : Move
        The number, and what one step of it is.
    reach : float
        Most steps asked for.

    Returns
    -------
    tuple of float
        Steps down, at most 0, and up, at least 0, within `reach`. Between them and `reach` a hard
        limit of the number, a rule of its section or the room on the blank refuses the design.

    Notes
    -----
    What refuses a value is taken to refuse every value farther away.
    """

    def farthest(sign: int) -> float:
        if _is_possible(design, folder, trim, sign * reach):
            return sign * reach
        inside, outside = 0.0, reach
        for _ in range(_HALVINGS):
            middle = (inside + outside) / 2
            if _is_possible(design, folder, trim, sign * middle):
                inside = middle
            else:
                outside = middle
        return sign * inside

    return farthest(-1), farthest(1)


def _is_possible(design: Design, folder: Path, trim: Move, steps: float) -> bool:
    moved = replaced(design, trim.address, trim.value + steps * trim.limit)
    try:
        check_design(moved)
        place_design(moved, folder)
    except ModewrightError:
        return False
    return True
