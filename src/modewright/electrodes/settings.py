"""The ``[electrodes]`` section of a design: modes to hear, modes to reject, what can be made."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from shapely import Polygon, is_valid_reason

from modewright.parameters import Fault, choice, count, modes, points, quantity, section, text

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["ElectrodeSettings", "ElectrodeTolerances"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrodeTolerances:
    """How far made plates may be off; every deviation is equally likely up to its limit."""

    gap_m: float = quantity(
        "m", "Largest deviation of the gap.", default=0.03e-3, show="mm", at_least=0.0,
        plausible=(0.0, 1e-3),
    )  # fmt: skip
    tilt: float = quantity(
        "1",
        "Largest tilt along x and along y: difference of height over length.",
        default=5e-4,
        at_least=0.0,
        plausible=(0.0, 0.02),
    )
    offset_m: float = quantity(
        "m", "Largest shift of the plates against the sheet along x and along y.",
        default=0.05e-3, show="mm", at_least=0.0, plausible=(0.0, 2e-3),
    )  # fmt: skip
    over_etch_m: float = quantity(
        "m", "Largest shift of every edge of the copper.", default=0.025e-3, show="mm",
        at_least=0.0, plausible=(0.0, 5e-4),
    )  # fmt: skip
    warmth_k: float = quantity(
        "K", "Largest deviation of the temperature.", default=15.0, at_least=0.0,
        plausible=(0.0, 60.0),
    )  # fmt: skip
    board_expansion_per_k: float = quantity(
        "1/K", "Expansion of the board in its plane.", default=14e-6, show="ppm/K", at_least=0.0,
        plausible=(1e-6, 1e-4),
    )  # fmt: skip
    source: str = text(
        "Where these come from.",
        default="common practice: etched board of glass and epoxy on dowel pins and ground spacers",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrodeSettings:
    """What `modewright electrodes` looks for."""

    hear: tuple[int | str, ...] = modes("Modes that the plates should hear.")
    reject: tuple[int | str, ...] = modes("Modes that they should not hear.")
    arrangement: Literal["single", "pair", "segments", "joint"] = choice(
        "One plate; two, the signals of which are subtracted; slices, the signals of which are "
        "weighted; or of these slices the best, one for each mode to hear.",
        ("single", "pair", "segments", "joint"),
        default="single",
    )
    segments: int = count(
        "Number of slices, for `segments` and `joint`.", default=8, at_least=2, at_most=24
    )
    pickup: str = text(
        "Pickup whose place the plates take, with its gap, tilt and preamplifier; empty for the "
        "first.",
        default="",
    )
    area_m: tuple[tuple[float, float], ...] = points(
        "Corners of the area that plates may take, where it lies under the sheet; empty for all.",
        default=(),
    )
    clearance_m: float = quantity(
        "m", "Distance of plates from the edges of the sheet and from what stands under it.",
        default=0.5e-3, show="mm", at_least=0.0, plausible=(0.0, 0.02),
    )  # fmt: skip
    track_m: float = quantity(
        "m", "Narrowest copper.", default=0.3e-3, show="mm", above=0.0, plausible=(5e-5, 5e-3)
    )
    space_m: float = quantity(
        "m", "Narrowest space between copper.", default=0.3e-3, show="mm", above=0.0,
        plausible=(5e-5, 5e-3),
    )  # fmt: skip
    guard_m: float = quantity(
        "m", "Width of the guard around a single plate; 0 for none.", default=0.5e-3, show="mm",
        at_least=0.0, plausible=(0.0, 0.02),
    )  # fmt: skip
    resolution: int = count(
        "Cells along the longer side of the area.", default=80, at_least=20, at_most=300
    )
    two_sigma_db: float = quantity(
        "dB",
        "Rejection that all but 4.55 % of made plates should keep, as far as a shape can bring it.",
        default=30.0, at_least=0.0, at_most=60.0,
    )  # fmt: skip
    measured_error: float = quantity(
        "1",
        "Error with which the couplings of a made piece are measured when weights are fitted to "
        "it, as a share of the largest.",
        default=0.003, at_least=0.0, plausible=(0.0, 0.1),
    )  # fmt: skip
    tried_m: float = quantity(
        "m", "Diameter of the round pickup or driver that the map of places tries.",
        default=4e-3, show="mm", above=0.0, plausible=(5e-4, 0.1),
    )  # fmt: skip
    tolerances: ElectrodeTolerances = section(
        "How far made plates may be off.", ElectrodeTolerances, default=ElectrodeTolerances()
    )
    samples: int = count("Pieces to draw.", default=1000, at_least=100, at_most=100_000)
    seed: int = count("Seed of the pieces.", default=1, at_most=1_000_000)

    def problems(self) -> Iterable[Fault]:
        """Return lists that are empty, and modes named twice."""
        for key, entries in (("hear", self.hear), ("reject", self.reject)):
            if not entries:
                yield Fault(key=key, expected="at least one mode", got="none")
        if len(self.hear) > 4:
            yield Fault(key="hear", expected="at most four modes", got=str(len(self.hear)))
        for address, times in Counter((*self.hear, *self.reject)).items():
            if times > 1:
                yield Fault(key="reject", expected="each mode once", got=f"{address} {times} times")
        if self.area_m:
            shape = Polygon(self.area_m) if len(self.area_m) > 2 else Polygon()
            if shape.is_empty or not shape.is_valid:
                why = "fewer than three corners" if shape.is_empty else is_valid_reason(shape)
                yield Fault(key="area", expected="a polygon that bounds an area", got=why)
