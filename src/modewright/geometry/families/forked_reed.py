"""Forked reed: two or three arms, tuned apart, on one base."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import rounded_polygon
from modewright.geometry.edges import edges_at_x
from modewright.geometry.sketch import Sketch
from modewright.parameters import Fault, quantities, quantity, sections
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

__all__ = ["Arm", "ForkedReed"]

_ROUND_OFF = 1 + 1e-9
_SAME_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Arm:
    """One arm of a forked reed."""

    length_m: float = quantity(
        "m", "Length from the bottom of the slot.", show="mm", above=0.0, plausible=(2e-3, 1.0)
    )
    width_m: float = quantity("m", "Width.", show="mm", above=0.0, plausible=(3e-4, 0.2))


@dataclass(frozen=True, slots=True, kw_only=True)
class ForkedReed:
    """Base from x = 0 to ``base_length``, where the arms begin, side by side across y."""

    kind: ClassVar[str] = "forked reed"

    base_length_m: float = quantity(
        "m", "Length from root to the bottom of the slots.", show="mm", above=0.0,
        plausible=(5e-4, 1.0),
    )  # fmt: skip
    base_width_m: float | None = quantity(
        "m",
        "Width of the base; that of arms and slots together if left out.",
        default=None,
        show="mm",
        above=0.0,
        plausible=(5e-4, 0.5),
    )
    arms: tuple[Arm, ...] = sections("Two or three arms, from negative to positive y.", Arm)
    slot_widths_m: tuple[float, ...] = quantities(
        "m", "Widths of the slots between neighbouring arms.", show="mm", above=0.0,
        plausible=(1e-4, 0.1),
    )  # fmt: skip
    slot_fillet_m: float | None = quantity(
        "m",
        "Rounding of the two corners at the bottom of each slot; a half circle if left out.",
        default=None,
        show="mm",
        above=0.0,
    )
    shoulder_fillet_m: float = quantity(
        "m",
        "Rounding of the inner corners where base and arms differ in total width.",
        default=0.0,
        show="mm",
        at_least=0.0,
    )
    tip_radius_m: float = quantity(
        "m", "Rounding of the corners of each tip.", default=0.0, show="mm", at_least=0.0
    )

    @property
    def head_width_m(self) -> float:
        """Width of arms and slots together. [m]"""
        return sum(arm.width_m for arm in self.arms) + sum(self.slot_widths_m)

    @property
    def root_width_m(self) -> float:
        """Width of the base. [m]"""
        return self.head_width_m if self.base_width_m is None else self.base_width_m

    def problems(self) -> Iterable[Fault]:
        """Return faults of the numbers of arms and slots, then of sizes that do not fit."""
        count, slots = len(self.arms), len(self.slot_widths_m)
        if count not in (2, 3):
            yield Fault(key="arms", expected="two or three arms", got=str(count))
        elif slots != count - 1:
            yield Fault(
                key="slot_widths",
                expected=f"{count - 1} width{'s' if count > 2 else ''} for {count} arms",
                got=str(slots),
            )
        else:
            yield from self._base_problems()
            yield from self._rounding_problems()

    def _base_problems(self) -> Iterable[Fault]:
        least_m = self.head_width_m - 2 * min(self.arms[0].width_m, self.arms[-1].width_m)
        if self.root_width_m <= least_m * _ROUND_OFF:
            yield Fault(
                key="base_width",
                expected=f"more than {_mm(least_m)}, so that every arm stands on the base",
                got=_mm(self.root_width_m),
                hint="Widen the base or narrow the slots.",
            )

    def _rounding_problems(self) -> Iterable[Fault]:
        fillet_m = self.slot_fillet_m or 0.0
        narrowest_m = min(self.slot_widths_m) / 2
        if fillet_m > narrowest_m * _ROUND_OFF:
            hint = "Leave it out for a half circle."
            yield _too_large("slot_fillet", "half the narrowest slot", narrowest_m, fillet_m, hint)
        tip_m = min(arm.width_m for arm in self.arms) / 2
        if self.tip_radius_m > tip_m * _ROUND_OFF:
            yield _too_large("tip_radius", "half the narrowest arm", tip_m, self.tip_radius_m)
        step_m = abs(self.root_width_m - self.head_width_m) / 2
        if step_m > _SAME_M and self.shoulder_fillet_m > step_m * _ROUND_OFF:
            yield _too_large("shoulder_fillet", "the step", step_m, self.shoulder_fillet_m)
        for i, (left, right) in enumerate(itertools.pairwise(self.arms)):
            bottom_m = self.slot_widths_m[i] / 2 if self.slot_fillet_m is None else fillet_m
            shortest_m = min(left.length_m, right.length_m)
            if bottom_m + self.tip_radius_m > shortest_m * _ROUND_OFF:
                yield Fault(
                    key=f"slot_widths[{i + 1}]",
                    expected=f"roundings that fit on an arm of {_mm(shortest_m)}",
                    got=f"{_mm(bottom_m)} at the slot and {_mm(self.tip_radius_m)} at the tip",
                )

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Outline with root edge x = 0, arms from negative to positive y."""
        outer = rounded_polygon(self._corners())
        tips = {self.base_length_m + arm.length_m for arm in self.arms}
        ends = [edges_at_x(outer, tip) for tip in sorted(tips)]
        return Sketch(
            outline=Outline(outer=outer),
            root_edges_m=edges_at_x(outer, 0.0),
            tip_edges_m=np.concatenate(ends),
            named_points=self._named_points(),
        )

    def _sides_m(self) -> list[tuple[float, float]]:
        """Lower and upper y of each arm."""
        y = -self.head_width_m / 2
        sides: list[tuple[float, float]] = []
        for arm, slot in zip(self.arms, (*self.slot_widths_m, 0.0), strict=True):
            sides.append((y, y + arm.width_m))
            y += arm.width_m + slot
        return sides

    def _corners(self) -> list[tuple[float, float, float]]:
        base, tip_radius = self.base_length_m, self.tip_radius_m
        root, head = self.root_width_m / 2, self.head_width_m / 2
        # Of the two corners of a step the one nearer the middle is the inner one.
        at_root = self.shoulder_fillet_m if root < head - _SAME_M else 0.0
        at_head = self.shoulder_fillet_m if head < root - _SAME_M else 0.0
        has_step = abs(root - head) > _SAME_M
        corners = [(0.0, -root, 0.0)]
        if has_step:
            corners += [(base, -root, at_root), (base, -head, at_head)]
        sides = self._sides_m()
        for i, (arm, (low, high)) in enumerate(zip(self.arms, sides, strict=True)):
            tip = base + arm.length_m
            corners += [(tip, low, tip_radius), (tip, high, tip_radius)]
            if i < len(self.slot_widths_m):
                slot = self.slot_widths_m[i]
                fillet = slot / 2 if self.slot_fillet_m is None else self.slot_fillet_m
                corners += [(base, high, fillet), (base, high + slot, fillet)]
        if has_step:
            corners += [(base, head, at_head), (base, root, at_root)]
        return [*corners, (0.0, root, 0.0)]

    def _named_points(self) -> tuple[NamedPoint, ...]:
        sides = self._sides_m()
        places: dict[str, tuple[float, float]] = {}
        for number, (arm, (low, high)) in enumerate(zip(self.arms, sides, strict=True), 1):
            middle = (low + high) / 2
            places[f"arm {number} tip"] = (self.base_length_m + arm.length_m, middle)
            places[f"arm {number} middle"] = (self.base_length_m + arm.length_m / 2, middle)
        for number, ((_, left), (right, _)) in enumerate(itertools.pairwise(sides), 1):
            places[f"crotch {number}"] = (self.base_length_m, (left + right) / 2)
        places["root"] = (0.0, 0.0)
        longest = max(range(len(self.arms)), key=lambda i: self.arms[i].length_m)
        tip = places[f"arm {longest + 1} tip"]
        return (
            NamedPoint(name="tip", point_m=tip),
            *(NamedPoint(name=name, point_m=point) for name, point in places.items()),
        )


def _mm(value_m: float) -> str:
    return format_quantity(value_m, "m", show="mm")


def _too_large(key: str, limit: str, limit_m: float, got_m: float, hint: str = "") -> Fault:
    return Fault(key=key, expected=f"at most {limit}, {_mm(limit_m)}", got=_mm(got_m), hint=hint)
