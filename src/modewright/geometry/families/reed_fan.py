"""Fan of reeds: any number of tongues, side by side or spread out, on one base."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import rounded_polygon
from modewright.geometry.edges import edges_at_x, straight_edges_m
from modewright.geometry.sketch import Sketch
from modewright.parameters import Fault, quantities, quantity, sections
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from modewright.geometry.loop import Loop

__all__ = ["FanReed", "ReedFan"]

_ROUND_OFF = 1 + 1e-9
_SAME_M = 1e-9
_MOST_REEDS = 48


@dataclass(frozen=True, slots=True, kw_only=True)
class FanReed:
    """One tongue of a fan."""

    length_m: float = quantity(
        "m", "Length from the base.", show="mm", above=0.0, plausible=(2e-3, 1.0)
    )
    width_m: float = quantity("m", "Width.", show="mm", above=0.0, plausible=(3e-4, 0.2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Placed:
    """Corners of one tongue and of its root, and the direction in which it points."""

    low_root: NDArray[np.float64]
    high_root: NDArray[np.float64]
    along: NDArray[np.float64]
    reed: FanReed

    @property
    def corners(self) -> list[NDArray[np.float64]]:
        reach = self.along * self.reed.length_m
        return [self.low_root, self.low_root + reach, self.high_root + reach, self.high_root]

    def moved(self, by_m: NDArray[np.float64]) -> _Placed:
        low, high = self.low_root + by_m, self.high_root + by_m
        return _Placed(low_root=low, high_root=high, along=self.along, reed=self.reed)

    @property
    def middle(self) -> NDArray[np.float64]:
        return (self.low_root + self.high_root) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class ReedFan:
    """Tongues from negative to positive y on a common base whose root is at x = 0."""

    kind: ClassVar[str] = "reed fan"

    reeds: tuple[FanReed, ...] = sections(
        "Two to 48 tongues, from negative to positive y.", FanReed
    )
    gaps_m: tuple[float, ...] = quantities(
        "m", "Gaps between neighbouring tongues at their roots; one for all, or one each.",
        show="mm", above=0.0, plausible=(1e-4, 0.2),
    )  # fmt: skip
    base_length_m: float = quantity(
        "m", "Least length of the base, from root to the tongues.", show="mm", above=0.0,
        plausible=(5e-4, 0.5),
    )  # fmt: skip
    splay_deg: float = quantity(
        "deg", "Angle between neighbouring tongues; 0 for parallel ones.", default=0.0,
        at_least=0.0, below=60.0,
    )  # fmt: skip
    fillet_m: float = quantity(
        "m", "Rounding of the corners between the tongues.", default=0.0, show="mm", at_least=0.0
    )
    tip_radius_m: float = quantity(
        "m", "Rounding of the corners of each tip.", default=0.0, show="mm", at_least=0.0
    )

    def problems(self) -> Iterable[Fault]:
        """Return faults of numbers and of sizes that do not fit."""
        count = len(self.reeds)
        if not 2 <= count <= _MOST_REEDS:
            yield Fault(key="reeds", expected=f"two to {_MOST_REEDS}", got=str(count))
        elif len(self.gaps_m) not in (1, count - 1):
            expected = f"one gap, or {count - 1} for {count} tongues"
            yield Fault(key="gaps", expected=expected, got=str(len(self.gaps_m)))
        elif self.splay_deg * (count - 1) >= 180.0:
            yield Fault(
                key="splay",
                expected=f"a fan of less than 180 degrees, {180 / (count - 1):.3g} for each gap",
                got=f"{self.splay_deg:g} deg",
            )
        else:
            yield from self._rounding_problems()

    def _rounding_problems(self) -> Iterable[Fault]:
        narrow_m = min(self.gaps_m) / 2
        # Splayed tongues meet the base at an angle, at which a rounding takes more of the gap.
        narrow_m *= math.tan(math.pi / 4 + math.radians(self.splay_deg) / 4)
        if self.fillet_m > narrow_m * _ROUND_OFF:
            limit = f"at most {_mm(narrow_m)}, which fits in the narrowest gap"
            yield Fault(key="fillet", expected=limit, got=_mm(self.fillet_m))
        tip_m = min(min(reed.width_m / 2, reed.length_m / 2) for reed in self.reeds)
        if self.tip_radius_m > tip_m * _ROUND_OFF:
            limit = f"at most {_mm(tip_m)}, which fits on every tip"
            yield Fault(key="tip_radius", expected=limit, got=_mm(self.tip_radius_m))

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Outline with root edge x = 0."""
        placed, outer = self._placed(), self._outer()
        tips = [tongue.middle + tongue.along * tongue.reed.length_m for tongue in placed]
        edges = straight_edges_m(outer)
        middles = edges.mean(axis=1)
        is_tip = [bool(np.any(np.hypot(*(middle - tips).T) < _SAME_M)) for middle in middles]
        longest = int(np.argmax([reed.length_m for reed in self.reeds]))
        places = {"tip": tips[longest]}
        for number, (tongue, tip) in enumerate(zip(placed, tips, strict=True), 1):
            places[f"reed {number} tip"] = tip
            places[f"reed {number} middle"] = (tongue.middle + tip) / 2
        places["root"] = np.zeros(2)
        return Sketch(
            outline=Outline(outer=outer),
            root_edges_m=edges_at_x(outer, 0.0),
            tip_edges_m=edges[is_tip],
            named_points=tuple(
                NamedPoint(name=name, point_m=(float(x), float(y)))
                for name, (x, y) in places.items()
            ),
        )

    def _placed(self) -> list[_Placed]:
        """Tongues along a chain of roots and gaps, moved so that the base has its least length."""
        count = len(self.reeds)
        gaps = self.gaps_m if len(self.gaps_m) == count - 1 else self.gaps_m * (count - 1)
        turns = np.radians(self.splay_deg) * (np.arange(count) - (count - 1) / 2)
        place = np.zeros(2)
        found: list[_Placed] = []
        for i, (reed, turn) in enumerate(zip(self.reeds, turns, strict=True)):
            end = place + reed.width_m * _across(turn)
            along = np.array([math.cos(turn), math.sin(turn)])
            found.append(_Placed(low_root=place, high_root=end, along=along, reed=reed))
            if i < count - 1:
                place = end + gaps[i] * _across((turn + turns[i + 1]) / 2)
        corners = np.array([c for tongue in found for c in (tongue.low_root, tongue.high_root)])
        ends = corners[[0, -1], 1]
        shift = np.array([self.base_length_m - corners[:, 0].min(), -ends.mean()])
        return [tongue.moved(shift) for tongue in found]

    def _outer(self) -> Loop:
        placed = self._placed()
        low, high = float(placed[0].low_root[1]), float(placed[-1].high_root[1])
        corners = [(0.0, low, 0.0)]
        for i, tongue in enumerate(placed):
            inner = [self.fillet_m if i > 0 else 0.0, self.fillet_m if i < len(placed) - 1 else 0.0]
            radii = [inner[0], self.tip_radius_m, self.tip_radius_m, inner[1]]
            points = zip(tongue.corners, radii, strict=True)
            corners += [(float(x), float(y), radius) for (x, y), radius in points]
        corners.append((0.0, high, 0.0))
        return rounded_polygon(corners)


def _across(turn_rad: float) -> NDArray[np.float64]:
    return np.array([-math.sin(turn_rad), math.cos(turn_rad)])


def _mm(value_m: float) -> str:
    return format_quantity(value_m, "m", show="mm")
