"""A parameter of a body, given by the body a little below and a little above its value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from modewright.geometry.blank import Blank
    from modewright.materials.solid import IsotropicSolid

__all__ = ["BodyChange"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyChange:
    """What a parameter does to a body.

    Whoever draws the body, draws it twice: nothing here needs to know what the parameter is. All
    that changes is taken to change linearly between the two, so the step should be small, yet stand
    out from round-off: some hundred-thousandths of the parameter.

    Parameters
    ----------
    lower, upper : Blank
        At the value less the step, and at the value plus the step; drawn alike, with the same
        loops of the same lines and arcs, the same pockets, masses and kind of hold.
    lower_material, upper_material : IsotropicSolid
    step : float
        Half the distance between both values, > 0. [unit of the parameter]

    Raises
    ------
    ValueError
        If the step is not above 0, or the blanks are not drawn alike.
    """

    lower: Blank
    upper: Blank
    lower_material: IsotropicSolid
    upper_material: IsotropicSolid
    step: float

    def __post_init__(self) -> None:
        if not self.step > 0:
            raise ValueError(f"step: expected above 0, got {self.step}")
        if _parts(self.lower) != _parts(self.upper):
            raise ValueError("lower and upper: expected the same holes, pockets, masses and hold")

    def rate(self, lower: float, upper: float) -> float:
        """Change per unit of the parameter of what has these values below and above."""
        return (upper - lower) / (2 * self.step)


def _parts(blank: Blank) -> tuple[object, ...]:
    """Numbers and kinds of what the blank consists of."""
    hold = blank.hold
    return (
        len(blank.outline.holes),
        [pocket.side for pocket in blank.pockets],
        None if blank.relief is None else len(blank.relief.kinks_m),
        len(blank.bends),
        [mass.side for mass in blank.masses],
        None
        if hold is None
        else (len(hold.edges_m), len(hold.areas), hold.stiffness_n_per_m3 is None),
    )
