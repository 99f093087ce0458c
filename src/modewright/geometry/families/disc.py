"""Round plate with or without a hole in its middle."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import circle
from modewright.geometry.sketch import Sketch
from modewright.parameters import Fault, quantity
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

__all__ = ["Disc"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """Round plate about the origin, free or held on a stud in its middle."""

    kind: ClassVar[str] = "disc"

    diameter_m: float = quantity("m", "Diameter.", show="mm", above=0.0, plausible=(5e-3, 1.0))
    hole_diameter_m: float | None = quantity(
        "m", "Diameter of a hole in the middle, if any.", default=None, show="mm", above=0.0,
        plausible=(5e-4, 0.9),
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return the fault of a hole as large as the disc."""
        if self.hole_diameter_m is not None and self.hole_diameter_m >= self.diameter_m:
            yield Fault(
                key="hole_diameter",
                expected=f"less than the disc, {format_quantity(self.diameter_m, 'm', show='mm')}",
                got=format_quantity(self.hole_diameter_m, "m", show="mm"),
            )

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Circle about the origin; a disc has no root edge."""
        rim, hole = self.diameter_m / 2, self.hole_diameter_m
        slant = rim * math.sqrt(0.5)
        inner = 0.0 if hole is None else hole / 2
        places = {
            "rim": (rim, 0.0),
            "rim 45": (slant, slant),
            "rim 90": (0.0, rim),
            "half way": ((rim + inner) / 2, 0.0),
            "hole edge" if hole is not None else "middle": (inner, 0.0),
        }
        none = np.zeros((0, 2, 2))
        holes = () if hole is None else (circle((0.0, 0.0), hole),)
        return Sketch(
            outline=Outline(outer=circle((0.0, 0.0), self.diameter_m), holes=holes),
            root_edges_m=none,
            tip_edges_m=none,
            named_points=tuple(NamedPoint(name=n, point_m=p) for n, p in places.items()),
        )
