"""Warmth of the room, and what it makes of a gap between parts that stand on a common base."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.parameters import Fault, quantity, text

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Warmth", "gap_change_m"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """Coldest and warmest room, and what sheet, plates and magnets stand on."""

    coldest_k: float = quantity(
        "K", "Coldest room.", default=273.15, show="degC", at_least=223.15, at_most=373.15
    )
    warmest_k: float = quantity(
        "K", "Warmest room.", default=318.15, show="degC", at_least=223.15, at_most=373.15
    )
    standoff_m: float = quantity(
        "m",
        "Height at which the sheet is held over the base that also bears plates and magnets.",
        default=10e-3,
        show="mm",
        at_least=0.0,
        plausible=(0.0, 0.2),
    )
    standoff_expansion_per_k: float = quantity(
        "1/K",
        "Linear expansion of what holds the sheet at that height; the default is that of steel.",
        default=12e-6,
        show="ppm/K",
        plausible=(-1e-6, 200e-6),
    )
    bearer_expansion_per_k: float = quantity(
        "1/K",
        "Linear expansion of what bears plates and magnets; the default is that of steel.",
        default=12e-6,
        show="ppm/K",
        plausible=(-1e-6, 200e-6),
    )
    source: str = text(
        "Where the expansions come from.",
        default="common practice: unalloyed steel, 11e-6 to 13e-6 per kelvin",
    )

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a range that is none."""
        if not self.coldest_k < self.warmest_k:
            yield Fault(
                key="warmest",
                expected=f"more than {self.coldest_k - 273.15:g} degC, the coldest",
                got=f"{self.warmest_k - 273.15:g} degC",
            )


def gap_change_m(warmth: Warmth, gap_m: float, warming_k: float, *, is_above: bool) -> float:
    """By how much a gap widens.

    Parameters
    ----------
    warmth : Warmth
    gap_m : float
        As built. [m]
    warming_k : float
        Since then. [K]
    is_above : bool
        Whether what faces the sheet stands above it, on a bearer that reaches around the sheet.

    Returns
    -------
    float
        (α_s H - α_b (H - g)) ΔT below the sheet, (α_b (H + g) - α_s H) ΔT above it: with one
        expansion for both, the gap grows as everything does. [m]

    Notes
    -----
    Everything is evenly warm; the sheet's own thickness is left out.
    """
    height_m = warmth.standoff_m
    held = warmth.standoff_expansion_per_k * height_m
    if is_above:
        return (warmth.bearer_expansion_per_k * (height_m + gap_m) - held) * warming_k
    return (held - warmth.bearer_expansion_per_k * (height_m - gap_m)) * warming_k
