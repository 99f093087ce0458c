"""How well each place of a body hears or pushes each mode, and the best one for several."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Point

from modewright.checks import frozen_array
from modewright.transducers.gap import normal_displacement
from modewright.transducers.plate import AreaPoints, disc_points

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.chain.electrode_site import ElectrodeSite

__all__ = ["PlaceMap", "map_places"]

_ALONG, _FINEST = 60, 1 / 8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaceMap:
    """A round pickup or driver tried all over the area.

    What it hears of a mode, and by reciprocity how it pushes it, is the mean of the mode's shape
    over its face; here over the largest found for that mode.

    Parameters
    ----------
    diameter_m : float
        Of the face. [m]
    points_m : float array, shape (places, 2)
        Its middle. [m]
    coupling : float array, shape (places, modes)
        From -1 to 1; the wanted modes first.
    best : int
        Place at which the weakest wanted mode is strongest.
    worst : float
        How strong it is there, from 0 to 1.
    """

    diameter_m: float
    points_m: NDArray[np.float64]
    coupling: NDArray[np.float64]
    best: int
    worst: float

    def __post_init__(self) -> None:
        for name in ("points_m", "coupling"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def map_places(site: ElectrodeSite, diameter_m: float) -> PlaceMap | None:
    """Try a round face everywhere in the area.

    Parameters
    ----------
    site : ElectrodeSite
    diameter_m : float
        [m]

    Returns
    -------
    PlaceMap or None
        None if the face fits nowhere.
    """
    inner = site.room.buffer(-diameter_m / 2)
    if inner.is_empty:
        return None
    x0, y0, x1, y1 = inner.bounds
    # Fine enough for a strip hardly wider than the face.
    size = min(max(x1 - x0, y1 - y0) / _ALONG, diameter_m * _FINEST)
    columns, rows = (max(1, round((b - a) / size)) for a, b in ((x0, x1), (y0, y1)))
    x, y = np.linspace(x0, x1, columns + 1), np.linspace(y0, y1, rows + 1)
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    inside = np.array(shapely.contains_xy(inner, grid[:, 0], grid[:, 1]))
    deepest = shapely.get_coordinates(Point(inner.representative_point()))
    places = np.concatenate([deepest, grid[inside]])
    face = disc_points((0.0, 0.0), diameter_m / 2)
    share = face.weight_m2 / face.area_m2
    mean = np.zeros((len(places), len(site.modes)))
    for part in np.array_split(np.arange(len(places)), max(1, len(places) // 100)):
        points = (places[part, None] + face.points_m).reshape(-1, 2)
        area = AreaPoints(points_m=points, weight_m2=np.ones(len(points)))
        moved = normal_displacement(site.pickup.name, site.shapes, area)[:, site.modes]
        mean[part] = np.einsum("f,pfm->pm", share, moved.reshape(len(part), len(share), -1))
    peak = np.abs(mean).max(axis=0)
    coupling = mean / np.where(peak > 0, peak, 1.0)
    weakest = np.abs(coupling[:, : len(site.hear)]).min(axis=1)
    best = int(np.argmax(weakest))
    return PlaceMap(
        diameter_m=diameter_m,
        points_m=places,
        coupling=coupling,
        best=best,
        worst=float(weakest[best]),
    )
