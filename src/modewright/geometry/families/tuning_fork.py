"""Tuning fork with a stem, cut from thick stock: its prongs swing in the plane of the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import rounded_polygon
from modewright.geometry.edges import edges_at_x
from modewright.geometry.sketch import Sketch
from modewright.parameters import Fault, quantity
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

__all__ = ["TuningFork"]

_ROUND_OFF = 1 + 1e-9
_SAME_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class TuningFork:
    """Two equal prongs on a yoke, with a stem from x = 0."""

    kind: ClassVar[str] = "tuning fork"

    prong_length_m: float = quantity(
        "m", "Length of the prongs from the bottom of the slot.", show="mm", above=0.0,
        plausible=(5e-3, 0.5),
    )  # fmt: skip
    prong_width_m: float = quantity(
        "m", "Width of each prong in the plane of the sheet, in which it swings.", show="mm",
        above=0.0, plausible=(5e-4, 5e-2),
    )  # fmt: skip
    gap_m: float = quantity(
        "m", "Width of the slot between the prongs.", show="mm", above=0.0, plausible=(5e-4, 0.1)
    )
    yoke_depth_m: float = quantity(
        "m", "Metal between the bottom of the slot and the stem.", show="mm", above=0.0,
        plausible=(5e-4, 0.1),
    )  # fmt: skip
    stem_length_m: float = quantity(
        "m", "Length of the stem.", show="mm", above=0.0, plausible=(1e-3, 0.2)
    )
    stem_width_m: float = quantity(
        "m", "Width of the stem.", show="mm", above=0.0, plausible=(5e-4, 0.1)
    )
    slot_fillet_m: float | None = quantity(
        "m",
        "Rounding of the two corners at the bottom of the slot; a half circle if left out.",
        default=None,
        show="mm",
        above=0.0,
    )
    yoke_radius_m: float = quantity(
        "m", "Rounding of the two outer corners of the yoke.", default=0.0, show="mm", at_least=0.0
    )
    stem_fillet_m: float = quantity(
        "m", "Rounding of the corners between yoke and stem.", default=0.0, show="mm", at_least=0.0
    )

    @property
    def head_width_m(self) -> float:
        """Width over both prongs. [m]"""
        return 2 * self.prong_width_m + self.gap_m

    @property
    def fillet_m(self) -> float:
        """Rounding at the bottom of the slot. [m]"""
        return self.gap_m / 2 if self.slot_fillet_m is None else self.slot_fillet_m

    def problems(self) -> Iterable[Fault]:
        """Return faults of sizes that do not fit each other."""
        shoulder = (self.head_width_m - self.stem_width_m) / 2
        if shoulder < _SAME_M:
            yield Fault(
                key="stem_width",
                expected=f"less than the width over the prongs, {_mm(self.head_width_m)}",
                got=_mm(self.stem_width_m),
            )
            return
        room = self.yoke_depth_m + self.prong_length_m
        limits = (
            ("slot_fillet", self.fillet_m, min(self.gap_m / 2, self.prong_length_m)),
            ("yoke_radius", self.yoke_radius_m, min(shoulder - self.stem_fillet_m, room)),
            ("stem_fillet", self.stem_fillet_m, min(shoulder, self.stem_length_m)),
        )
        for key, got, most in limits:
            if got > most * _ROUND_OFF:
                yield Fault(key=key, expected=f"at most {_mm(max(most, 0.0))}", got=_mm(got))

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Outline with the end of the stem at x = 0 and the prongs towards +x."""
        stem, head, slot = self.stem_width_m / 2, self.head_width_m / 2, self.gap_m / 2
        yoke = self.stem_length_m
        crotch = yoke + self.yoke_depth_m
        tip = crotch + self.prong_length_m
        upper = [
            (0.0, stem, 0.0), (yoke, stem, self.stem_fillet_m), (yoke, head, self.yoke_radius_m),
            (tip, head, 0.0), (tip, slot, 0.0), (crotch, slot, self.fillet_m),
        ]  # fmt: skip
        lower = [(x, -y, radius) for x, y, radius in upper]
        outer = rounded_polygon([*lower, *reversed(upper)])
        middle = (slot + head) / 2
        places = {
            "prong 1 tip": (tip, -middle),
            "prong 2 tip": (tip, middle),
            "prong 1 side": (tip, -head),
            "prong 2 side": (tip, head),
            "crotch": (crotch, 0.0),
            "yoke": (yoke + self.yoke_depth_m / 2, 0.0),
            "root": (0.0, 0.0),
        }
        return Sketch(
            outline=Outline(outer=outer),
            root_edges_m=edges_at_x(outer, 0.0),
            tip_edges_m=np.array(edges_at_x(outer, tip)),
            named_points=tuple(NamedPoint(name=n, point_m=p) for n, p in places.items()),
        )


def _mm(value_m: float) -> str:
    return format_quantity(value_m, "m", show="mm")
