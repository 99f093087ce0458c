"""Several plates whose weighted signals tell modes apart: slices, or the best of them."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon, box

from modewright.chain.electrode_plates import PlateSet
from modewright.chain.electrode_site import coupling_density, heard_by_plates
from modewright.electrodes.area_mesh import mesh_area
from modewright.electrodes.choice import slice_weights
from modewright.electrodes.outlines import BoardRules, cleaned, find_slits, sewn
from modewright.errors import TransducerError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from modewright.chain.electrode_site import ElectrodeSite
    from modewright.electrodes.settings import ElectrodeSettings

__all__ = ["fitted_weights", "joint_plates", "sliced_plates"]

_MOST_SLICES = 64


def sliced_plates(
    site: ElectrodeSite,
    settings: ElectrodeSettings,
    progress: Callable[[str], None] | None = None,
) -> PlateSet:
    """Cut the area into slices and weigh their signals.

    Parameters
    ----------
    site : ElectrodeSite
    settings : ElectrodeSettings
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    PlateSet
        One signal for each wanted mode, which hears none of the others.

    Raises
    ------
    TransducerError
        If the area makes too few slices, or they cannot tell the modes apart.
    """
    if progress is not None:
        progress("cutting slices")
    count = settings.segments
    if count < len(site.modes):
        raise TransducerError(
            f"expected at least {len(site.modes)}, one for each mode, got {count}.",
            hint="Ask for more segments or fewer modes.",
            key="electrodes.segments",
        )
    rules = BoardRules(track_m=settings.track_m, space_m=settings.space_m)
    plates = _slices(site.room, count, rules)
    heard = heard_by_plates(site, plates)
    return PlateSet(
        plates=plates,
        weights=fitted_weights(heard, len(site.hear)),
        heard=heard,
        whole=_whole(site, settings),
        wanted=tuple((mode,) for mode in range(len(site.hear))),
    )


def _slices(room: BaseGeometry, count: int, rules: BoardRules) -> tuple[Polygon, ...]:
    """The largest halves of slices across the longer side, so many that there are enough.

    Halves, for whole slices could not tell a body that twists from one that lies a little aside.
    """
    low_x, low_y, high_x, high_y = room.bounds
    along = 0 if high_x - low_x >= high_y - low_y else 1
    for slices in range(1, _MOST_SLICES + 1):
        parts = [
            half
            for whole in _cut(room, along, slices, rules)
            for half in _cut(whole, 1 - along, 2, rules)
        ]
        if len(parts) < count:
            continue
        largest = sorted(parts, key=lambda part: -part.area)[:count]
        made = [sewn(part, find_slits(part, rules), rules) for part in largest]
        kept = [plate for plate in made if plate is not None]
        if len(kept) == count:
            return tuple(sorted(kept, key=lambda plate: plate.centroid.coords[0]))
    raise TransducerError(
        f"expected an area that makes {count} slices, got too small a one.",
        hint="Enlarge the area, ask for fewer segments, or make track and space smaller.",
        key="electrodes.segments",
    )


def _cut(area: BaseGeometry, axis: int, count: int, rules: BoardRules) -> list[Polygon]:
    """Parts of an area cut across x or y into slices of even width."""
    bounds = np.array(area.bounds).reshape(2, 2)
    low, high = float(bounds[0, axis]), float(bounds[1, axis])
    edges = [low + (high - low) * number / count for number in range(count + 1)]
    half_m = rules.space_m / 2
    parts: list[Polygon] = []
    for number, (start, end) in enumerate(pairwise(edges)):
        ends: NDArray[np.float64] = bounds.copy()
        ends[0, axis] = start + (half_m if number > 0 else 0.0)
        ends[1, axis] = end - (half_m if number < count - 1 else 0.0)
        low_x, low_y, high_x, high_y = (float(place) for place in ends.ravel())
        copper = cleaned(area.intersection(box(low_x, low_y, high_x, high_y)), rules, area)
        parts += [part for part in shapely.get_parts(copper) if isinstance(part, Polygon)]
    return parts


def fitted_weights(heard: NDArray[np.float64], wanted: int) -> NDArray[np.float64]:
    """Weights with which plates hear each wanted mode and none of the others.

    Parameters
    ----------
    heard : float array, shape (plates, modes)
        Of the wanted modes, then of the rejected ones.
    wanted : int
        How many are wanted.

    Returns
    -------
    float array, shape (wanted, plates)

    Raises
    ------
    TransducerError
        If the plates cannot tell the modes apart.
    """
    try:
        return np.array([slice_weights(heard, mode) for mode in range(wanted)])
    except ValueError as error:
        raise TransducerError(
            "expected plates that tell the modes apart, got some that hear two of them alike.",
            hint="Ask for more segments, enlarge the area or reject fewer modes.",
            key="electrodes",
        ) from error


def joint_plates(
    site: ElectrodeSite,
    settings: ElectrodeSettings,
    progress: Callable[[str], None] | None = None,
) -> PlateSet:
    """Choose one slice for each wanted mode, so that all together tell these modes apart best.

    Parameters
    ----------
    site : ElectrodeSite
    settings : ElectrodeSettings
        Its segments are the slices to choose from.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    PlateSet
        One signal for each wanted mode, which hears none of the other wanted ones. Of the rejected
        modes it hears what so few plates cannot take out. Chosen is the set whose least singular
        value is largest, each mode measured by what the whole area would hear of it: the weakest
        mixture of the modes is heard as well as can be, which bounds the condition number too.

    Raises
    ------
    TransducerError
        If the area makes too few slices, or they cannot tell the modes apart.
    """
    if progress is not None:
        progress("choosing slices")
    wanted = len(site.hear)
    rules = BoardRules(track_m=settings.track_m, space_m=settings.space_m)
    slices = _slices(site.room, max(settings.segments, wanted), rules)
    heard = heard_by_plates(site, slices)
    whole = _whole(site, settings)
    rows = _best_rows((heard / whole)[:, :wanted], wanted)
    return PlateSet(
        plates=tuple(slices[row] for row in rows),
        weights=fitted_weights(heard[rows][:, :wanted], wanted),
        heard=heard[rows],
        whole=whole,
        wanted=tuple((mode,) for mode in range(wanted)),
    )


def _best_rows(heard: NDArray[np.float64], count: int) -> list[int]:
    """Rows whose least singular value is largest."""
    best: tuple[float, list[int]] = (-1.0, [])
    for rows in combinations(range(len(heard)), count):
        least = float(np.linalg.svd(heard[list(rows)], compute_uv=False).min())
        if least > best[0]:
            best = (least, list(rows))
    return best[1]


def _whole(site: ElectrodeSite, settings: ElectrodeSettings) -> NDArray[np.float64]:
    mesh = mesh_area(site.room, settings.resolution)
    return mesh.magnitudes(coupling_density(site, mesh.points_m))
