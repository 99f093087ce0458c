"""A guard: copper around a pickup plate, kept at the plate's potential.

Between plate and guard lies a bare slit. The field bends outside the guard, not at the plate's
edge, so that the plate's own field stays parallel and nothing reaches it over the surface.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import Polygon

from modewright.geometry.planar import loop_polygon
from modewright.parameters import quantity

if TYPE_CHECKING:
    from modewright.transducers.plate import Plate

__all__ = ["Guard", "guard_ring", "outer_outline"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """Ring of copper around a plate, kept at the plate's potential."""

    width_m: float = quantity(
        "m", "Width of the ring.", show="mm", above=0.0, plausible=(1e-4, 0.02)
    )
    gap_m: float = quantity(
        "m",
        "Width of the bare slit between plate and ring.",
        default=0.2e-3,
        show="mm",
        above=0.0,
        plausible=(5e-5, 5e-3),
    )


def outer_outline(plate: Plate, guard: Guard | None) -> Polygon:
    """Outline of plate and guard together.

    Parameters
    ----------
    plate : Plate
    guard : Guard or None

    Returns
    -------
    Polygon
        That of the plate alone without a guard; corners of a guard are round. [m]
    """
    outline = loop_polygon(plate.loop)
    return outline if guard is None else outline.buffer(guard.gap_m + guard.width_m)


def guard_ring(plate: Plate, guard: Guard) -> Polygon:
    """Copper of the guard in plan, with the hole in which the plate lies.

    Parameters
    ----------
    plate : Plate
    guard : Guard

    Returns
    -------
    Polygon
        [m]
    """
    inner = loop_polygon(plate.loop).buffer(guard.gap_m)
    return Polygon(outer_outline(plate, guard).exterior, [inner.exterior])
