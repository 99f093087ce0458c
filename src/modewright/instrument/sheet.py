"""The ``[sheet]`` section: the stock from which the blanks of all notes are cut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from modewright.parameters import Fault, choice, count, quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["BlankSheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankSheet:
    """A rectangular sheet; x runs along its length, which is the direction of rolling."""

    length_m: float = quantity(
        "m", "Length, along the direction of rolling.", default=0.3, show="mm", above=0.0,
        plausible=(0.02, 4.0),
    )  # fmt: skip
    width_m: float = quantity(
        "m", "Width.", default=0.2, show="mm", above=0.0, plausible=(0.02, 2.0)
    )
    margin_m: float = quantity(
        "m", "Rim of the sheet that stays whole.", default=5e-3, show="mm", at_least=0.0,
        plausible=(0.0, 0.05),
    )  # fmt: skip
    spacing_m: float = quantity(
        "m", "Least metal that stays between two cuts.", default=2e-3, show="mm", at_least=0.0,
        plausible=(2e-4, 0.05),
    )  # fmt: skip
    kerf_m: float = quantity(
        "m", "Width of the cut.", default=0.15e-3, show="mm", at_least=0.0, plausible=(0.0, 3e-3)
    )
    turns: Literal["none", "half turns", "quarter turns"] = choice(
        "How blanks may be turned; a quarter turn lays the direction of rolling across a blank.",
        ("none", "half turns", "quarter turns"),
        default="half turns",
    )
    copies: int = count("Blanks to cut of each note.", default=1, at_least=1, at_most=100)

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a rim that leaves nothing."""
        least_m = min(self.length_m, self.width_m)
        if 2 * self.margin_m + self.kerf_m >= least_m:
            yield Fault(
                key="margin",
                expected=f"less than half of {least_m * 1e3:g} mm",
                got=f"{self.margin_m * 1e3:g} mm",
            )

    @property
    def distance_m(self) -> float:
        """Least distance between two contours: the metal between, and half a cut of each. [m]"""
        return self.spacing_m + self.kerf_m

    @property
    def rim_m(self) -> float:
        """Least distance of a contour from the edge of the sheet. [m]"""
        return self.margin_m + self.kerf_m / 2
