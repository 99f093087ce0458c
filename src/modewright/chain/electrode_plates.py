"""Outlines of plates that hear some modes and not others.

Places are chosen by a linear programme, drawn as copper that can be etched, and their edges moved
until the pickup's own gap, with its rim and guard, hears nothing of the rejected modes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.electrode_site import coupling_density, heard_by_plates
from modewright.checks import frozen_array
from modewright.electrodes.area_mesh import AreaMesh, mesh_area
from modewright.electrodes.choice import Slips, choose_places
from modewright.electrodes.layout import (
    Layout,
    drawn,
    reserved,
    with_tracks,
    without_crumbs,
)
from modewright.electrodes.level_set import level_change
from modewright.electrodes.outlines import BoardRules
from modewright.electrodes.refine import refine_plates
from modewright.errors import TransducerError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from shapely import Polygon

    from modewright.chain.electrode_site import ElectrodeSite
    from modewright.electrodes.choice import ChosenPlaces
    from modewright.electrodes.settings import ElectrodeSettings

__all__ = ["PlateSet", "rejections_db", "shaped_plates"]

# Slips along x and y of tilt and offset share what may be let through, each uniform to its limit.
_SLIPS, _UNIFORM, _OVER = 4, 1 / np.sqrt(3), 0.9
_ROUNDS = 3
_WHOLE_ROUNDS = 8
# Beyond this no made plate is better for it.
_ENOUGH_DB = 60.0
_NOT_HELD = 1e6
_MOST_DB = 200.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlateSet:
    """Plates with the weights of their signals.

    Parameters
    ----------
    plates : tuple of Polygon
        [m]
    weights : float array, shape (signals, plates)
        Each signal is the sum of what the plates hear times these.
    heard : float array, shape (plates, modes)
        Of the modes of the site. [F/(m sqrt(kg))]
    whole : float array, shape (modes,)
        What the whole area would hear, each place with its better sign. [F/(m sqrt(kg))]
    wanted : tuple of tuple of int
        Columns of the modes that each signal is to hear; it is to reject all others.
    """

    plates: tuple[Polygon, ...]
    weights: NDArray[np.float64]
    heard: NDArray[np.float64]
    whole: NDArray[np.float64]
    wanted: tuple[tuple[int, ...], ...]

    def __post_init__(self) -> None:
        for name in ("weights", "heard", "whole"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def signals(self) -> NDArray[np.float64]:
        """What each signal hears of each mode, shape (signals, modes)."""
        return self.weights @ self.heard

    @property
    def condition(self) -> float | None:
        """How well the wanted modes are told apart, 1 being best; None if there is but one."""
        count = sum(len(own) for own in self.wanted)
        alike = (self.heard / self.whole)[:, :count]
        return float(np.linalg.cond(alike)) if len(alike) >= count > 1 else None

    @property
    def kept(self) -> float:
        """Least coupling to a wanted mode over what the whole area would hear of it."""
        signals = np.abs(self.signals) / self.whole
        return min(float(signals[row, list(own)].min()) for row, own in enumerate(self.wanted))


def rejections_db(
    signals: NDArray[np.float64], wanted: tuple[tuple[int, ...], ...]
) -> NDArray[np.float64]:
    """Weakest wanted mode of each signal over each other mode.

    Parameters
    ----------
    signals : float array, shape (..., signals, modes)
    wanted : tuple of tuple of int
        Columns that each signal is to hear.

    Returns
    -------
    float array, shape (..., signals, modes)
        [dB]; NaN for wanted modes, at most 200 dB.
    """
    size = np.abs(signals)
    found = np.full(size.shape, np.nan)
    for row, own in enumerate(wanted):
        least = size[..., row, list(own)].min(axis=-1)
        for mode in range(size.shape[-1]):
            if mode not in own:
                share = np.maximum(size[..., row, mode], 1e-40) / np.maximum(least, 1e-40)
                found[..., row, mode] = np.minimum(-20 * np.log10(share), _MOST_DB)
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Task:
    """What choosing, drawing and moving edges have in common.

    Parameters
    ----------
    signs : float array, shape (plates,)
        With which the plates count.
    density : float array, shape (points, modes)
        What an area at each corner of the triangles hears of the wanted modes, then the rejected.
    slips : float array, shape (points, slips)
        What slips of a made plate add to the rejected ones.
    """

    site: ElectrodeSite
    settings: ElectrodeSettings
    mesh: AreaMesh
    signs: NDArray[np.float64]
    density: NDArray[np.float64]
    slips: NDArray[np.float64]

    @property
    def wanted(self) -> NDArray[np.float64]:
        return self.density[:, : len(self.site.hear)]

    @property
    def rejected(self) -> NDArray[np.float64]:
        return self.density[:, len(self.site.hear) :]

    @property
    def whole(self) -> NDArray[np.float64]:
        return self.mesh.magnitudes(self.density)

    def leak(self, plates: tuple[Polygon, ...]) -> NDArray[np.float64]:
        """What is heard of each rejected mode over the weakest wanted one."""
        heard = self.signs @ heard_by_plates(self.site, plates)
        wanted = len(self.site.hear)
        return heard[wanted:] / np.abs(heard[:wanted]).min()

    def level(self, chosen: ChosenPlaces) -> NDArray[np.float64]:
        """The sum that decides about each corner of the triangles."""
        level = self.wanted @ chosen.wanted_factor + self.rejected @ chosen.rejected_factor
        return level + self.slips @ chosen.slip_factor


def shaped_plates(
    site: ElectrodeSite,
    settings: ElectrodeSettings,
    progress: Callable[[str], None] | None = None,
) -> PlateSet:
    """Shape one plate, or two that are subtracted.

    Parameters
    ----------
    site : ElectrodeSite
    settings : ElectrodeSettings
        With the arrangement "single" or "pair".
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    PlateSet
        Of one signal.

    Raises
    ------
    TransducerError
        If no plate in the area hears the wanted modes and not the others, or none can be etched.
    """
    task = _task(site, settings)
    best: PlateSet | None = None
    # Tracks are heard by modes that twist: plates may do better without.
    for settled in (_joined, _whole):
        if progress is not None:
            progress("choosing places")
        found = settled(task)
        if progress is not None:
            progress("moving edges")
        made = _refined(task, *found)
        if made is not None and (best is None or _worth(made) > _worth(best)):
            best = made
        if best is not None and _worth(best) >= _ENOUGH_DB:
            break
    if best is None:
        raise TransducerError(
            "expected plates that can be etched, got parts that no track joins.",
            hint="Enlarge the area, or make track, space or the number of rejected modes smaller.",
            key="electrodes",
        )
    return best


def _worth(made: PlateSet) -> float:
    """To compare plates with: rejection in dB as far as it matters, then what is kept."""
    rejection_db = rejections_db(made.signals, made.wanted)
    return min(float(np.nanmin(rejection_db)), _ENOUGH_DB) + made.kept


def _task(site: ElectrodeSite, settings: ElectrodeSettings) -> _Task:
    mesh = mesh_area(site.room, settings.resolution)
    density = coupling_density(site, mesh.points_m)
    is_pair = settings.arrangement == "pair"
    return _Task(
        site=site,
        settings=settings,
        mesh=mesh,
        signs=np.array([1.0, -1.0]) if is_pair else np.ones(1),
        density=density,
        slips=_slip_density(site, settings, mesh.points_m, density[:, len(site.hear) :]),
    )


def _slip_density(
    site: ElectrodeSite,
    settings: ElectrodeSettings,
    points_m: NDArray[np.float64],
    rejected: NDArray[np.float64],
) -> NDArray[np.float64]:
    """What one deviation of tilt and offset along x and y adds, shape (points, slips)."""
    off = settings.tolerances
    away_m = points_m - np.array(site.middle_m)
    found = [rejected * (-2 * off.tilt * away_m[:, k, None] / site.pickup.gap_m) for k in (0, 1)]
    # By differences over nearly the offset itself, so far as the sheet reaches.
    size_m = _OVER * min(off.offset_m, settings.clearance_m)
    for step in (np.array([size_m, 0.0]), np.array([0.0, size_m])):
        if size_m > 0:
            moved = coupling_density(site, points_m + step)[:, len(site.hear) :]
            found.append((moved - rejected) * (off.offset_m / size_m))
    return np.concatenate(found, axis=1) * _UNIFORM


def _chosen(task: _Task, layout: Layout) -> ChosenPlaces:
    """Places with slips held, or without where holding them would leave nothing to hear."""
    per_cell = task.mesh.over_triangles(task.density)
    wanted = len(task.site.hear)
    limit = 10 ** (-task.settings.two_sigma_db / 20) / (2 * np.sqrt(_SLIPS))
    settled = reserved(layout)
    for held in (limit, _NOT_HELD):
        chosen = choose_places(
            per_cell[:, :wanted],
            per_cell[:, wanted:],
            is_pair=len(task.signs) > 1,
            slips=Slips(heard=task.mesh.over_triangles(task.slips), limit=held),
            taken=settled.taken,
            bare=settled.bare,
        )
        if chosen is not None:
            return chosen
    raise TransducerError(
        "expected places that hear the wanted modes and not the others, got none in the area.",
        hint='Reject fewer modes, enlarge the area, or ask for a "pair" or "segments".',
        key="electrodes",
    )


def _empty(task: _Task) -> Layout:
    rules = BoardRules(track_m=task.settings.track_m, space_m=task.settings.space_m)
    return Layout.empty(task.mesh, task.site.room, rules, len(task.signs))


def _joined(task: _Task) -> tuple[ChosenPlaces, Layout]:
    """Places and the tracks that join them, which are copper in the next choice."""
    layout = _empty(task)
    chosen = _chosen(task, layout)
    for _ in range(_ROUNDS - 1):
        found = with_tracks(layout, task.level(chosen))
        if found is None or not any(found.tracks):
            break
        layout = found
        chosen = _chosen(task, layout)
    return chosen, layout


def _whole(task: _Task) -> tuple[ChosenPlaces, Layout]:
    """Places of plates that hang together without tracks."""
    layout = _empty(task)
    chosen = _chosen(task, layout)
    for _ in range(_WHOLE_ROUNDS):
        found = without_crumbs(layout, task.level(chosen))
        if found is None:
            break
        layout = found
        chosen = _chosen(task, layout)
    return chosen, layout


def _refined(task: _Task, chosen: ChosenPlaces, layout: Layout) -> PlateSet | None:
    """Plates whose edges are moved until nothing leaks."""
    level = task.level(chosen)
    added = task.rejected / np.abs(task.rejected).max(axis=0) * np.abs(level).max()
    unit = chosen.kept * float(task.whole[: len(task.site.hear)].min()) / len(task.signs)
    change = level_change(task.mesh, level, task.rejected, added) / unit
    refined = refine_plates(lambda level: drawn(layout, level), task.leak, level, added, change)
    if refined is None:
        return None
    return PlateSet(
        plates=refined.plates,
        weights=task.signs[None],
        heard=heard_by_plates(task.site, refined.plates),
        whole=task.whole,
        wanted=(tuple(range(len(task.site.hear))),),
    )
