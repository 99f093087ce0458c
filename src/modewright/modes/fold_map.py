"""Where the points of a flat blank go when it is bent, and how the sheet lies there.

Within a bend every fibre along it becomes part of a cylinder about the axis of the bend; what lies
beyond turns with its end. Bends act one after the other, the farthest from the fixed panel first,
when everything nearer is still flat.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely

from modewright.geometry.fold_plan import plan_of_blank

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon

    from modewright.geometry.bends import Bend
    from modewright.geometry.blank import Blank
    from modewright.modes.regions import PlaneRegions

__all__ = ["Fold", "FoldPart", "FoldedPlaces", "fold_of_regions", "folded_places"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoldPart:
    """Bends that move a part of the blank, nearest to the fixed panel first.

    Parameters
    ----------
    chain : tuple of int
    is_bent : bool
        Whether the part is itself the zone of the last of them.
    """

    chain: tuple[int, ...]
    is_bent: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fold:
    """Bends of a blank and what they do to each region of its plane.

    Parameters
    ----------
    bends : tuple of Bend
    outward : float array, shape (bends, 2)
        Unit vectors across each bend, away from the fixed panel.
    thickness_m : float
    parts : tuple of FoldPart
        Of each region.
    """

    bends: tuple[Bend, ...]
    outward: NDArray[np.float64]
    thickness_m: float
    parts: tuple[FoldPart, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoldedPlaces:
    """The bent body.

    Parameters
    ----------
    nodes_m : float array, shape (nodes, functions, 3)
        Places of the nodes of the plane space and the column. [m]
    frames : float array, shape (triangles, nodes of one, 3, 3)
        How the sheet lies at the nodes of every triangle; columns are its x, y and normal.
    """

    nodes_m: NDArray[np.float64]
    frames: NDArray[np.float64]


def fold_of_regions(blank: Blank, regions: PlaneRegions) -> Fold:
    """What the bends of a blank do to each of its regions.

    Parameters
    ----------
    blank : Blank
        With at least one bend.
    regions : PlaneRegions
        Cut along the edges of the bends.

    Returns
    -------
    Fold
    """
    body = shapely.union_all([region.polygon for region in regions.regions])
    plan = plan_of_blank(blank, cast("Polygon", body))
    parts = [plan.part_at(r.polygon.representative_point()) for r in regions.regions]
    return Fold(
        bends=blank.bends,
        outward=plan.outward,
        thickness_m=blank.thickness_m,
        parts=tuple(FoldPart(chain=chain, is_bent=is_bent) for chain, is_bent in parts),
    )


def folded_places(
    fold: Fold, part: FoldPart, flat_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places of the bent body, and the directions that lay along x, y and z before.

    Parameters
    ----------
    fold : Fold
    part : FoldPart
        To which the places belong.
    flat_m : float array, shape (..., 3)
        Places in the flat blank. [m]

    Returns
    -------
    places : float array, shape (..., 3)
        [m]
    frames : float array, shape (..., 3, 3)
        Columns: unit vectors along the blank's x, its y, and its normal.
    """
    places = flat_m
    frames = np.broadcast_to(np.eye(3), (*flat_m.shape[:-1], 3, 3))
    for step, number in enumerate(reversed(part.chain)):
        is_own = part.is_bent and step == 0
        places, turn = _bent(fold, number, places, is_own=is_own)
        frames = turn @ frames
    return places, frames


def _bent(
    fold: Fold, number: int, places: NDArray[np.float64], *, is_own: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places after one bend, and the rotation of each."""
    bend, thickness = fold.bends[number], fold.thickness_m
    up = np.array([0.0, 0.0, 1.0])
    across, along = np.append(fold.outward[number], 0.0), np.append(bend.along, 0.0)
    middle = np.append(bend.middle_m, 0.0)
    width, sign = bend.allowance_m(thickness), np.sign(bend.angle_rad)
    offset = places - middle
    way = offset @ across + width / 2
    # Height of the axis, on the side towards which the sheet is bent.
    axis = thickness + bend.inside_radius_m if sign > 0 else -bend.inside_radius_m
    radius = sign * (axis - places[..., 2])
    full = abs(bend.angle_rad)
    angle = way / bend.neutral_radius_m(thickness) if is_own else np.full_like(way, full)
    rest = np.zeros_like(way) if is_own else way - width
    out = radius * np.sin(angle) + rest * np.cos(angle) - width / 2
    height = axis - sign * (radius * np.cos(angle) - rest * np.sin(angle))
    moved = middle + (offset @ along)[..., None] * along
    moved = moved + out[..., None] * across + height[..., None] * up
    return moved, _turns(sign * angle, across, up, along)


def _turns(
    angle: NDArray[np.float64],
    across: NDArray[np.float64],
    up: NDArray[np.float64],
    along: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Rotations that turn across towards up, shape (..., 3, 3)."""
    cos, sin = np.cos(angle)[..., None, None], np.sin(angle)[..., None, None]
    level = np.outer(across, across) + np.outer(up, up)
    return (
        np.outer(along, along) + cos * level + sin * (np.outer(up, across) - np.outer(across, up))
    )
