"""The sheet seen from above in axes of its own: where it is long, where held, how its parts move.

Only what is free to move counts: metal between jaws is left out, unless it lies between free parts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.regions import PlaneRegions
    from modewright.modes.sheet_shapes import SheetShapes

__all__ = ["PlanView", "plan_view"]

# The smallest box round the sheet may lie askew; one along x and y is kept unless it is this much
# larger.
_ASKEW_SHARE = 0.95
_SQUARE_SHARE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanView:
    """Outline in a box of its own, from 0 to `length_m` along it and 0 to `width_m` across.

    Parameters
    ----------
    body : Polygon
        With its holes, in the axes of the box. [m]
    held_m : float array, shape (pieces, 2, 2)
        Straight pieces along which the free part is held, in the axes of the box. [m]
    corner_m : float array, shape (2,)
        Corner of the box in the axes of the sheet. [m]
    axes : float array, shape (2, 2)
        Unit vectors along and across, in the axes of the sheet.
    length_m, width_m : float
        Sides of the box. [m]
    """

    body: Polygon
    held_m: NDArray[np.float64]
    corner_m: NDArray[np.float64]
    axes: NDArray[np.float64]
    length_m: float
    width_m: float
    filled: Polygon = field(init=False)

    def __post_init__(self) -> None:
        for name in ("held_m", "corner_m", "axes"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        object.__setattr__(self, "filled", Polygon(self.body.exterior))

    def turned(self) -> PlanView:
        """The same with its directions exchanged."""
        return PlanView(
            body=_exchanged(self.body),
            held_m=self.held_m[..., ::-1],
            corner_m=self.corner_m,
            axes=self.axes[::-1],
            length_m=self.width_m,
            width_m=self.length_m,
        )

    def is_on_sheet(self, places_m: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether places in the box, shape (..., 2), lie on metal."""
        shapely.prepare(self.body)
        return shapely.contains_xy(self.body, places_m[..., 0], places_m[..., 1])

    def motion(self, shapes: SheetShapes, places_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Displacement along, across and normal at places (n, 2) in the box, (n, 3, modes)."""
        moved = shapes.displacement(self.corner_m + places_m @ self.axes)
        in_plane = np.einsum("ad,pdm->pam", self.axes, moved[:, :2])
        return np.concatenate([in_plane, moved[:, 2:]], axis=1)

    def held_share(self, axis: int, place_m: float) -> float:
        """Share of a side of the box that is held; the side lies at `place_m` of `axis`."""
        sides = (self.length_m, self.width_m)
        near = np.abs(self.held_m[:, :, axis] - place_m).max(axis=1, initial=0.0)
        runs = np.abs(np.diff(self.held_m[:, :, 1 - axis], axis=1)).ravel()
        return float(runs[near < 0.02 * sides[axis]].sum()) / sides[1 - axis]


def plan_view(regions: PlaneRegions) -> PlanView:
    """See the sheet from above.

    Parameters
    ----------
    regions : PlaneRegions

    Returns
    -------
    PlanView
        Its longer direction along; a square keeps the x axis.
    """
    body = _free_part(regions)
    axes = _axes(body)
    corners = shapely.get_coordinates(body) @ axes.T
    low, high = corners.min(axis=0), corners.max(axis=0)
    if high[1] - low[1] > (high[0] - low[0]) * (1 + _SQUARE_SHARE):
        axes, low, high = axes[::-1], low[::-1], high[::-1]
    held = [
        regions.nodes_m[[edge.start, edge.end]]
        for edge in regions.edges
        if edge.is_held or _ends_jaw(regions, edge.left, edge.right)
    ]
    length, width = high - low
    return PlanView(
        body=_seen(body, axes, low),
        held_m=np.array(held).reshape(-1, 2, 2) @ axes.T - low,
        corner_m=low @ axes,
        axes=axes,
        length_m=float(length),
        width_m=float(width),
    )


def _ends_jaw(regions: PlaneRegions, left: int, right: int) -> bool:
    return right != -1 and regions.regions[left].is_held != regions.regions[right].is_held


def _free_part(regions: PlaneRegions) -> Polygon:
    """What is not between jaws, if that is one piece; otherwise the whole sheet."""
    free = [region.polygon for region in regions.regions if not region.is_held]
    # A soft hold may reach over the whole sheet.
    joined = _union(free) if free else None
    if isinstance(joined, Polygon):
        return joined
    whole = _union([region.polygon for region in regions.regions])
    if isinstance(whole, Polygon):
        return whole
    return max(whole.geoms, key=lambda part: part.area)


def _union(polygons: list[Polygon]) -> Polygon | MultiPolygon:
    joined = shapely.union_all(polygons)
    if not isinstance(joined, Polygon | MultiPolygon):
        raise TypeError(f"regions: expected areas, got {joined.geom_type}")
    return joined


def _axes(body: Polygon) -> NDArray[np.float64]:
    """Unit vectors of the two sides of the box, each pointing towards positive x or y."""
    low_x, low_y, high_x, high_y = body.bounds
    box = shapely.oriented_envelope(body)
    if box.area > _ASKEW_SHARE * (high_x - low_x) * (high_y - low_y):
        return np.eye(2)
    corners = shapely.get_coordinates(box)
    side = corners[1] - corners[0]
    along = side / np.hypot(*side)
    axes = np.array([along, [-along[1], along[0]]])
    # A quarter of a turn either way: x, the first axis, is the one that lies nearer to x.
    axes = axes[np.argsort(-np.abs(axes[:, 0]), kind="stable")]
    leading = axes[[0, 1], [0, 1]]
    return axes * np.where(leading < 0, -1.0, 1.0)[:, None]


def _seen(body: Polygon, axes: NDArray[np.float64], low: NDArray[np.float64]) -> Polygon:
    rings = [
        shapely.get_coordinates(ring) @ axes.T - low for ring in (body.exterior, *body.interiors)
    ]
    return Polygon(rings[0], rings[1:])


def _exchanged(body: Polygon) -> Polygon:
    rings = [shapely.get_coordinates(ring)[:, ::-1] for ring in (body.exterior, *body.interiors)]
    return Polygon(rings[0], rings[1:])
