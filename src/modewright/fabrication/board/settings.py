"""The ``[board]`` section of a design: what the board house can do and what the board needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import Polygon, is_valid_reason

from modewright.fabrication.board.clearance import ALTITUDES
from modewright.parameters import Fault, choice, points, quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["BoardSettings"]

_LEAST_ANNULAR_RING_M = 0.1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardSettings:
    """Printed board under the sheet, with the pickup plates on its upper face.

    The defaults are what board houses offer without extra charge (common practice).
    """

    outline_m: tuple[tuple[float, float], ...] = points(
        "Corners of the board; left out, it reaches from the plates past the end of the sheet.",
        default=(),
    )
    thickness_m: float = quantity(
        "m",
        "Thickness of the board.",
        default=1.6e-3,
        show="mm",
        above=0.0,
        plausible=(0.2e-3, 6e-3),
    )
    copper_thickness_m: float = quantity(
        "m", "Thickness of the copper.", default=35e-6, show="um", above=0.0, plausible=(5e-6, 3e-4)
    )
    smallest_track_m: float = quantity(
        "m",
        "Narrowest copper that the board house makes.",
        default=0.15e-3,
        show="mm",
        above=0.0,
        plausible=(2e-5, 1e-3),
    )
    smallest_space_m: float = quantity(
        "m",
        "Narrowest space between copper that the board house makes.",
        default=0.15e-3,
        show="mm",
        above=0.0,
        plausible=(2e-5, 1e-3),
    )
    edge_distance_m: float = quantity(
        "m",
        "Least distance of copper from the edge of the board.",
        default=0.5e-3,
        show="mm",
        above=0.0,
        plausible=(1e-4, 1e-2),
    )
    altitude: str = choice(
        "Where it works; thin air insulates less.", ALTITUDES, default="up to 3050 m"
    )
    lead_width_m: float = quantity(
        "m",
        "Width of the leads from the plates to the connector.",
        default=0.25e-3,
        show="mm",
        above=0.0,
        plausible=(5e-5, 5e-3),
    )
    via_hole_m: float = quantity(
        "m",
        "Drill of the holes that join the faces.",
        default=0.3e-3,
        show="mm",
        above=0.0,
        plausible=(1e-4, 2e-3),
    )
    via_pad_m: float = quantity(
        "m",
        "Diameter of the copper round them.",
        default=0.6e-3,
        show="mm",
        above=0.0,
        plausible=(2e-4, 4e-3),
    )
    pin_pitch_m: float = quantity(
        "m",
        "Distance of the connector's pins.",
        default=2.54e-3,
        show="mm",
        above=0.0,
        plausible=(1e-3, 1e-2),
    )
    pin_hole_m: float = quantity(
        "m",
        "Drill of the connector's holes.",
        default=1.0e-3,
        show="mm",
        above=0.0,
        plausible=(3e-4, 3e-3),
    )
    pin_pad_m: float = quantity(
        "m",
        "Diameter of the copper round them.",
        default=1.7e-3,
        show="mm",
        above=0.0,
        plausible=(5e-4, 5e-3),
    )
    screw_hole_m: float = quantity(
        "m",
        "Diameter of the holes for the screws.",
        default=2.7e-3,
        show="mm",
        above=0.0,
        plausible=(1e-3, 1e-2),
    )
    screw_head_m: float = quantity(
        "m",
        "Diameter that head and washer take.",
        default=6.0e-3,
        show="mm",
        above=0.0,
        plausible=(2e-3, 2e-2),
    )
    mask_opening_m: float = quantity(
        "m",
        "How far the solder mask keeps off bare copper.",
        default=0.1e-3,
        show="mm",
        at_least=0.0,
        plausible=(0.0, 1e-3),
    )
    end_distance_m: float = quantity(
        "m",
        "Distance of connector and screws from the end of the sheet.",
        default=2.0e-3,
        show="mm",
        above=0.0,
        plausible=(5e-4, 2e-2),
    )

    def problems(self) -> Iterable[Fault]:
        """Return what is wrong between the fields."""
        if self.outline_m:
            shape = Polygon(self.outline_m) if len(self.outline_m) > 2 else Polygon()
            if not shape.is_valid or shape.area <= 0:
                yield Fault(
                    key="outline",
                    expected="at least three corners that bound an area",
                    got=is_valid_reason(shape) if shape.area > 0 else "none",
                    hint="List the corners once around the board, or leave the outline out.",
                )
        for what, hole_m, pad_m in (
            ("via", self.via_hole_m, self.via_pad_m),
            ("pin", self.pin_hole_m, self.pin_pad_m),
        ):
            least_m = hole_m + 2 * _LEAST_ANNULAR_RING_M
            if pad_m < least_m:
                yield Fault(
                    key=f"{what}_pad",
                    expected=f"at least {least_m * 1e3:.3g} mm, a ring of 0.1 mm round the hole",
                    got=f"{pad_m * 1e3:.3g} mm",
                )
        if self.screw_head_m < self.screw_hole_m:
            yield Fault(
                key="screw_head",
                expected=f"more than screw_hole, {self.screw_hole_m * 1e3:.3g} mm",
                got=f"{self.screw_head_m * 1e3:.3g} mm",
            )
        if self.lead_width_m < self.smallest_track_m:
            yield Fault(
                key="lead_width",
                expected=f"at least smallest_track, {self.smallest_track_m * 1e3:.3g} mm",
                got=f"{self.lead_width_m * 1e3:.3g} mm",
            )
