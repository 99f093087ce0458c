"""Bell cut from sheet: the outline of a bell, flat."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from modewright.geometry.biarcs import curve_to_arcs
from modewright.geometry.blank import NamedPoint, Outline
from modewright.geometry.corners import circle
from modewright.geometry.edges import edges_at_x
from modewright.geometry.loop import Loop
from modewright.geometry.sketch import Sketch
from modewright.geometry.transforms import anticlockwise
from modewright.parameters import Fault, quantity
from modewright.units import format_quantity

if TYPE_CHECKING:
    import pathlib
    from collections.abc import Iterable

    from numpy.typing import NDArray

__all__ = ["FlatBell"]

# So many pieces, of two arcs each, hold a flank to a few micrometres whatever its sizes; the number
# is fixed so that the outline changes smoothly with them.
_PIECES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatBell:
    """Crown at x = 0, flanks that leave it along x and flare, mouth bowed outwards."""

    kind: ClassVar[str] = "flat bell"

    height_m: float = quantity(
        "m", "Height from crown to the corners of the mouth.", show="mm", above=0.0,
        plausible=(5e-3, 1.0),
    )  # fmt: skip
    crown_width_m: float = quantity(
        "m", "Width of the straight edge at the crown.", show="mm", above=0.0, plausible=(2e-3, 1.0)
    )
    mouth_width_m: float = quantity(
        "m", "Width at the corners of the mouth.", show="mm", above=0.0, plausible=(2e-3, 1.0)
    )
    flare_deg: float = quantity(
        "deg", "Angle between flank and axis at the mouth.", default=35.0, at_least=0.0, below=80.0
    )
    bow_m: float = quantity(
        "m", "How far the mouth bows out beyond its corners.", default=0.0, show="mm", at_least=0.0
    )
    hole_diameter_m: float | None = quantity(
        "m", "Diameter of a hole to hang it by, if any.", default=None, show="mm", above=0.0,
        plausible=(5e-4, 0.05),
    )  # fmt: skip
    hole_from_crown_m: float | None = quantity(
        "m", "From the crown to the middle of that hole; one diameter if left out.", default=None,
        show="mm", above=0.0, plausible=(5e-4, 0.5),
    )  # fmt: skip

    def problems(self) -> Iterable[Fault]:
        """Return faults of sizes that do not fit each other."""
        if self.mouth_width_m <= self.crown_width_m:
            yield Fault(
                key="mouth_width",
                expected=f"more than the crown, {_mm(self.crown_width_m)}",
                got=_mm(self.mouth_width_m),
            )
        if self.bow_m > self.mouth_width_m / 2:
            yield Fault(
                key="bow",
                expected=f"at most half the mouth, {_mm(self.mouth_width_m / 2)}",
                got=_mm(self.bow_m),
            )
        if self.hole_diameter_m is None and self.hole_from_crown_m is not None:
            yield Fault(key="hole_diameter", expected="a diameter for the hole", got="none")

    def sketch(self, folder: pathlib.Path) -> Sketch:  # noqa: ARG002
        """Outline with the crown as its root."""
        height, mouth = self.height_m, self.mouth_width_m / 2
        outer = self._outer()
        hole = self._hole()
        places = {
            "mouth": (height + self.bow_m, 0.0),
            "mouth corner": (height, mouth),
            "middle": (height / 2, 0.0),
            "root": (0.0, 0.0),
        }
        return Sketch(
            outline=Outline(outer=outer, holes=() if hole is None else (hole,)),
            root_edges_m=edges_at_x(outer, 0.0),
            tip_edges_m=edges_at_x(outer, height),
            named_points=tuple(NamedPoint(name=n, point_m=p) for n, p in places.items()),
        )

    def _hole(self) -> Loop | None:
        if self.hole_diameter_m is None:
            return None
        from_crown = self.hole_from_crown_m
        x = self.hole_diameter_m if from_crown is None else from_crown
        return circle((x, 0.0), self.hole_diameter_m)

    def _outer(self) -> Loop:
        breaks = np.linspace(0.0, 1.0, _PIECES + 1)
        flank, bulge = curve_to_arcs(self._flank, breaks.tolist(), self.height_m)
        # Up the flank at +y, round the mouth, back along the flank at -y, across the crown.
        down = flank[::-1] * np.array([1.0, -1.0])
        vertices = np.concatenate([flank, down])
        mouth = -2 * self.bow_m / self.mouth_width_m
        bulges = np.concatenate([bulge, [mouth], bulge[::-1], [0.0]])
        return anticlockwise(Loop(vertices_m=vertices, bulge=bulges))

    def _flank(self, t: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Cubic from the crown, along x, to the corner of the mouth, at the angle of flare.

        In Hermite's form with both tangents as long as the height (any textbook of computer
        graphics); its slope begins at 0 and ends at the tangent of the flare.
        """
        height = self.height_m
        rise = (self.mouth_width_m - self.crown_width_m) / 2
        end = height * math.tan(math.radians(self.flare_deg))
        y = rise * (3 * t**2 - 2 * t**3) + end * (t**3 - t**2)
        slope = rise * (6 * t - 6 * t**2) + end * (3 * t**2 - 2 * t)
        return (
            np.array([height * t, self.crown_width_m / 2 + y]),
            np.array([height, slope]),
        )


def _mm(value_m: float) -> str:
    return format_quantity(value_m, "m", show="mm")
