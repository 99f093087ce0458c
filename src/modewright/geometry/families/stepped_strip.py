"""Strip or bar whose width and thickness change in steps."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import rectangle, rounded_polygon
from modewright.geometry.edges import edges_at_x
from modewright.geometry.sketch import Recess, Sketch
from modewright.parameters import Fault, choice, quantity, sections
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

__all__ = ["Step", "SteppedStrip"]

_SAME_M = 1e-9
_ROUND_OFF = 1 + 1e-9
_OVERHANG = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Stretch of one width and one thickness."""

    length_m: float = quantity("m", "Length along x.", show="mm", above=0.0, plausible=(5e-4, 1.0))
    width_m: float = quantity("m", "Width along y.", show="mm", above=0.0, plausible=(3e-4, 0.5))
    depth_m: float = quantity(
        "m", "Metal taken off the face over this stretch.", default=0.0, show="mm", at_least=0.0,
        plausible=(0.0, 0.05),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class SteppedStrip:
    """Stretches of different width or thickness one after the other, all about y = 0."""

    kind: ClassVar[str] = "stepped strip"

    steps: tuple[Step, ...] = sections("Two or more stretches, from root to tip.", Step)
    fillet_m: float = quantity(
        "m", "Rounding of the inner corner of every step.", default=0.0, show="mm", at_least=0.0
    )
    tip_radius_m: float = quantity(
        "m", "Rounding of the two corners of the tip.", default=0.0, show="mm", at_least=0.0
    )

    side: Literal["top", "bottom"] = choice(
        "Face from which depths are taken; pickups listen at the bottom.", ("top", "bottom"),
        default="top",
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return faults of the number of steps and of roundings that do not fit."""
        if len(self.steps) < 2:
            yield Fault(
                key="steps",
                expected="two or more",
                got=str(len(self.steps)),
                hint='For one width write kind = "strip reed".',
            )
            return
        for number, (near, far) in enumerate(itertools.pairwise(self.steps), 2):
            jump_m = abs(near.width_m - far.width_m) / 2
            if jump_m < _SAME_M and abs(near.depth_m - far.depth_m) < _SAME_M:
                yield Fault(
                    key=f"steps[{number}].width",
                    expected="another width or depth than that of the stretch before",
                    got=_mm(far.width_m),
                    hint="Make the two one.",
                )
            narrow = near if near.width_m < far.width_m else far
            limit_m = min(jump_m, narrow.length_m / 2)
            if jump_m >= _SAME_M and self.fillet_m > limit_m * _ROUND_OFF:
                yield Fault(
                    key="fillet",
                    expected=f"at most {_mm(limit_m)}, which fits at step {number}",
                    got=_mm(self.fillet_m),
                )
        last = self.steps[-1]
        limit_m = min(last.width_m / 2, last.length_m / 2)
        if self.tip_radius_m > limit_m * _ROUND_OFF:
            yield Fault(
                key="tip_radius",
                expected=f"at most {_mm(limit_m)}, which fits on the last stretch",
                got=_mm(self.tip_radius_m),
            )

    @property
    def length_m(self) -> float:
        """Length of all stretches together. [m]"""
        return sum(step.length_m for step in self.steps)

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Outline with root edge x = 0 and tip at the sum of the lengths."""
        ends = list(itertools.accumulate(step.length_m for step in self.steps))
        upper = [(0.0, self.steps[0].width_m / 2, 0.0)]
        for end, (near, far) in zip(ends, itertools.pairwise(self.steps), strict=False):
            jump_m = far.width_m - near.width_m
            at_near = self.fillet_m if jump_m > _SAME_M else 0.0
            at_far = self.fillet_m if jump_m < -_SAME_M else 0.0
            upper.append((end, near.width_m / 2, at_near))
            if abs(jump_m) > _SAME_M:
                upper.append((end, far.width_m / 2, at_far))
        upper.append((ends[-1], self.steps[-1].width_m / 2, self.tip_radius_m))
        lower = [(x, -y, radius) for x, y, radius in upper]
        outer = rounded_polygon([*lower, *reversed(upper)])
        places = {"tip": (ends[-1], 0.0), "middle": (ends[-1] / 2, 0.0), "root": (0.0, 0.0)}
        places |= {f"step {i}": (end, 0.0) for i, end in enumerate(ends[:-1], 1)}
        return Sketch(
            outline=Outline(outer=outer),
            root_edges_m=edges_at_x(outer, 0.0),
            tip_edges_m=edges_at_x(outer, ends[-1]),
            named_points=tuple(NamedPoint(name=n, point_m=p) for n, p in places.items()),
            recesses=self._recesses(ends),
        )

    def _recesses(self, ends: list[float]) -> tuple[Recess, ...]:
        """Stretches that are thinner, a little over the outline where they end with it."""
        widest = max(step.width_m for step in self.steps)
        starts = [-_OVERHANG * widest, *ends[:-1]]
        stops = [*ends[:-1], ends[-1] + _OVERHANG * widest]
        return tuple(
            Recess(
                loop=rectangle((start, -widest), (stop, widest)),
                depth_m=step.depth_m,
                side=self.side,
            )
            for step, start, stop in zip(self.steps, starts, stops, strict=True)
            if step.depth_m > 0
        )


def _mm(value_m: float) -> str:
    return format_quantity(value_m, "m", show="mm")
