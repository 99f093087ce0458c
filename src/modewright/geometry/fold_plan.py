"""Which parts of a flat blank its bends move.

Bends divide the blank into panels, which stay flat. The panel with the root stays in place; every
other one is carried by the bends between.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Point, Polygon

from modewright.errors import GeometryError
from modewright.geometry.places import place_mm

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.bends import Bend
    from modewright.geometry.blank import Blank

__all__ = ["FoldPlan", "fold_plan", "plan_of_blank"]

_SLIVER_M2 = 1e-12
_FAR = 4.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoldPlan:
    """What every part of the flat blank becomes.

    Parameters
    ----------
    zones : tuple of Polygon
        Flat area of each bend. [m]
    panels : tuple of Polygon
        Areas between the bends; the first stays in place.
    zone_chains, panel_chains : tuples of tuples of int
        Numbers of the bends between the first panel and each zone or panel, nearest first; a
        zone's own bend is its last.
    outward : float array, shape (bends, 2)
        Unit vectors in the blank across each bend, away from the first panel.
    """

    zones: tuple[Polygon, ...]
    panels: tuple[Polygon, ...]
    zone_chains: tuple[tuple[int, ...], ...]
    panel_chains: tuple[tuple[int, ...], ...]
    outward: NDArray[np.float64]

    def part_at(self, place: Point) -> tuple[tuple[int, ...], bool]:
        """Chain of the part on which a place lies, and whether that is a bend's own zone."""
        zone = [float(z.distance(place)) for z in self.zones]
        panel = [float(p.distance(place)) for p in self.panels]
        if min(zone) < min(panel):
            return self.zone_chains[int(np.argmin(zone))], True
        return self.panel_chains[int(np.argmin(panel))], False


def fold_plan(
    body: Polygon, bends: tuple[Bend, ...], thickness_m: float, root_m: NDArray[np.float64] | None
) -> FoldPlan:
    """Divide a flat blank into bends and panels.

    Parameters
    ----------
    body : Polygon
        The flat blank in plan. [m]
    bends : tuple of Bend
        At least one.
    thickness_m : float
        [m]
    root_m : float array, shape (2,), or None
        A place on the panel that stays; the largest panel if None. [m]

    Returns
    -------
    FoldPlan

    Raises
    ------
    GeometryError
        If a bend does not part the blank in two or meets another one.
    """
    low_x, low_y, high_x, high_y = body.bounds
    reach = _FAR * math.hypot(high_x - low_x, high_y - low_y)
    zones = tuple(_zone(body, bend, i, thickness_m, reach) for i, bend in enumerate(bends, 1))
    for i, zone in enumerate(zones):
        for j in range(i):
            if zone.intersection(zones[j]).area > _SLIVER_M2:
                raise GeometryError(
                    f"bend {i + 1}: expected clear sheet between it and bend {j + 1}, got bands "
                    f"that meet at {place_mm(zone.intersection(zones[j]).centroid.coords[0])}.",
                    hint="Move them apart or make the radii smaller.",
                )
    left = shapely.difference(body, shapely.union_all([z.buffer(1e-9) for z in zones]))
    panels = [p for p in shapely.get_parts(left) if isinstance(p, Polygon) and p.area > _SLIVER_M2]
    if root_m is None:
        first = int(np.argmax([panel.area for panel in panels]))
    else:
        first = int(np.argmin([panel.distance(Point(root_m)) for panel in panels]))
    panels = [panels[first], *panels[:first], *panels[first + 1 :]]
    return _walked(panels, zones, bends)


def plan_of_blank(blank: Blank, body: Polygon) -> FoldPlan:
    """Plan of the bends of a blank; the panel that is held first stays in place.

    Parameters
    ----------
    blank : Blank
        With at least one bend.
    body : Polygon
        The flat blank in plan. [m]

    Returns
    -------
    FoldPlan
    """
    root_m = None
    if blank.hold is not None and len(blank.hold.edges_m):
        root_m = np.asarray(blank.hold.edges_m[0].mean(axis=0))
    elif blank.hold is not None and blank.hold.areas:
        root_m = blank.hold.areas[0].vertices_m.mean(axis=0)
    return fold_plan(body, blank.bends, blank.thickness_m, root_m)


def _zone(body: Polygon, bend: Bend, number: int, thickness_m: float, reach_m: float) -> Polygon:
    band = bend.band(thickness_m, reach_m)
    parts = [
        part
        for part in shapely.get_parts(shapely.intersection(body, band))
        if isinstance(part, Polygon) and part.area > _SLIVER_M2
    ]
    middle = Point(bend.middle_m)
    if not parts or min(part.distance(middle) for part in parts) > 1e-6:
        raise GeometryError(
            f"bend {number}: expected a line across the sheet, got one off it at "
            f"{place_mm(bend.middle_m)}.",
            hint="Both places must lie on the sheet or its edge.",
        )
    return min(parts, key=lambda part: part.distance(middle))


def _walked(panels: list[Polygon], zones: tuple[Polygon, ...], bends: tuple[Bend, ...]) -> FoldPlan:
    """Go from the first panel over every bend to what lies beyond."""
    touching = [[i for i, p in enumerate(panels) if p.distance(zone) < 1e-7] for zone in zones]
    for number, (zone, near) in enumerate(zip(zones, touching, strict=True), 1):
        if len(near) != 2:
            raise GeometryError(
                f"bend {number}: expected a line that parts the sheet in two, got {len(near)} "
                f"flat parts beside it around {place_mm(zone.centroid.coords[0])}.",
                hint="A bend runs from edge to edge, clear of holes and of corners.",
            )
    panel_chains: dict[int, tuple[int, ...]] = {0: ()}
    zone_chains: dict[int, tuple[int, ...]] = {}
    outward = np.zeros((len(zones), 2))
    waiting = [0]
    while waiting:
        panel = waiting.pop()
        for number, near in enumerate(touching):
            if panel not in near or number in zone_chains:
                continue
            beyond = near[0] if near[1] == panel else near[1]
            if beyond in panel_chains:
                raise GeometryError(
                    f"bend {number + 1}: expected sheet beyond it that no other bend carries, "
                    f"got a closed ring around {place_mm(zones[number].centroid.coords[0])}.",
                    hint="A ring of flat sheet cannot be bent; cut it open.",
                )
            chain = (*panel_chains[panel], number)
            zone_chains[number] = panel_chains[beyond] = chain
            outward[number] = _across(bends[number], zones[number], panels[beyond])
            waiting.append(beyond)
    return FoldPlan(
        zones=zones,
        panels=tuple(panels),
        zone_chains=tuple(zone_chains[i] for i in range(len(zones))),
        panel_chains=tuple(panel_chains[i] for i in range(len(panels))),
        outward=outward,
    )


def _across(bend: Bend, zone: Polygon, beyond: Polygon) -> NDArray[np.float64]:
    """Unit vector across a bend towards the panel beyond, which touches the zone's far side."""
    across = np.array([-bend.along[1], bend.along[0]])
    shared = shapely.get_coordinates(zone.exterior.intersection(beyond.buffer(1e-7)))
    return math.copysign(1.0, float(((shared - bend.middle_m) @ across).mean())) * across
