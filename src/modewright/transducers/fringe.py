"""What the field at the rim of a plate adds to its gap, as a few narrow gaps along the rim.

Per length of rim the excess e(g) of the capacitance over ε0 comes from the field of a section
through the edge, or from a closed form where the guard is wide. As a sum of terms c/(g + s) with
fixed s it is a gap in series with a filling of width s, so that the one energy of
`modewright.transducers.gap` gives its pull, softening and signal as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely
from scipy.interpolate import PchipInterpolator

from modewright.checks import frozen_array
from modewright.transducers.edge_far import far_excess_m
from modewright.transducers.edge_field import EdgeSection, excess_per_m, slot_excess_per_m
from modewright.transducers.edge_loop import equivalent_strip_m

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import MultiPolygon, Polygon

    from modewright.transducers.edge_walk import RimStations
    from modewright.transducers.guard import Guard

__all__ = ["FringeMethod", "RimFringe", "rim_fringe"]

FringeMethod = Literal[
    "none", "field of the edge", "guard, closed form", "guard, field of the edge"
]

# Over the gap: where the section is solved, and the fillings of the terms that are fitted to it.
_GAPS = np.array([0.3, 0.45, 0.65, 0.9, 1.2, 1.7, 2.4, 3.3])
_FILLINGS = np.array([0.0, 0.2, 0.6, 2.0, 8.0, 1e3])
_BEYOND = np.array([0.0, 0.15, 0.4, 1.0, 2.5, 6.0, 15.0, 40.0])
# A right-angled turn of the rim of two equal thin plates adds this to C/ε0 over the gap.
_CORNER, _CORNER_FALL = 0.5, 3.0
# Where a sheet ends over a plate, a rim that turns adds to what its wall adds; from thick discs.
_WALL = (0.72, 0.4)
# Where an edge of the plate crosses one of the sheet so much is taken off, less where they reach
# only a few gaps beyond each other.
_CROSSING, _CROSSING_FALL = 1.5, 1.6
_SLIT_SHARE = 0.22
_WIDEST_SLIT, _WIDE_GUARD = 0.5, 1.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RimFringe:
    """Terms c/(g + s) along a rim.

    Parameters
    ----------
    weight_m2 : float array, shape (stations, terms)
        c times the rim that each station stands for. [m²]
    filled_m : float array, shape (terms,)
        s. [m]
    method : str
        Where they come from.
    """

    weight_m2: NDArray[np.float64]
    filled_m: NDArray[np.float64]
    method: FringeMethod

    def __post_init__(self) -> None:
        for name in ("weight_m2", "filled_m"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def rim_fringe(
    covered: Polygon | MultiPolygon,
    stations: RimStations,
    gap_m: float,
    thickness_m: float,
    guard: Guard | None,
    metal: tuple[Polygon, Polygon | MultiPolygon] | None = None,
) -> RimFringe:
    """Work out what the rim of a gap adds.

    Parameters
    ----------
    covered : Polygon or MultiPolygon
        Where plate and sheet face each other. [m]
    stations : RimStations
        Along its rim.
    gap_m : float
        About the gap there. [m]
    thickness_m : float
        Of the sheet along the rim. [m]
    guard : Guard or None
        Around the plate.
    metal : tuple of Polygon, optional
        Plate and sheet; without them plate and sheet are taken to go on beyond the rim as they do
        along a straight one. [m]

    Returns
    -------
    RimFringe

    Notes
    -----
    The section is that of a strip as wide as makes its far field that of the outline
    (`equivalent_strip_m`), with plate and sheet reaching beyond the rim as far as they do there; a
    slot over the plate has a section of its own. Without a guard, turns of the rim add c g with c
    from discs and squares solved in space, crossings of edges take some off, and the plan seen from
    afar (`far_excess_m`) adds what no strip knows; with one, a rim that turns gains what an offset
    outline does. The guard's closed form is Maxwell's, (s/2)/(g + 0.22 s) for a slit s: at most
    half the gap wide, sheet and guard at least 1.5 gaps beyond it.

    Against finite elements in space, gaps up to a quarter of the shorter side: within 0.5 % with a
    guard, 1.6 % where the sheet ends over a guarded plate; within 2.5 % without a guard. Nothing
    else is near: no board under the plate, no housing, no other plate. The gap may go from 0.3 to
    3.3 times that given.

    References
    ----------
    J. C. Maxwell, A Treatise on Electricity and Magnetism, 3rd ed. 1891, vol. 1, art. 201 (guard
    ring; from memory).
    """
    if guard is not None and _is_wide(guard, stations, gap_m):
        return _closed_form(stations, guard)
    width_m = _strip_m(covered, stations)
    slit_m, ring_m = (0.0, 0.0) if guard is None else (guard.gap_m, guard.width_m)
    if guard is not None and metal is not None:
        # No loop closes round a guarded plate; what its edge sees is the sheet.
        width_m = max(width_m, equivalent_strip_m(shapely.simplify(metal[1], gap_m / 10)))
    over_slot = stations.over_slot
    excess = np.zeros((len(stations.length_m), len(_GAPS)))
    for is_sheet, beyond_m in ((True, stations.sheet_beyond_m), (False, stations.plate_beyond_m)):
        other_m = stations.plate_beyond_m if is_sheet else stations.sheet_beyond_m
        chosen = ((beyond_m > 0) | (is_sheet & (other_m == 0))) & ~over_slot
        if chosen.any():
            table = _profile(gap_m, width_m, thickness_m, slit_m, ring_m, is_sheet)
            excess[chosen] = _between(beyond_m[chosen] / gap_m, table)
    is_round = (stations.plate_beyond_m > 0) & ~over_slot & (stations.corners_per_m > 0)
    if guard is None and is_round.any():
        thin = _profile(gap_m, width_m, 0.0, 0.0, 0.0, True)
        by_wall = excess[is_round] - _between(stations.plate_beyond_m[is_round] / gap_m, thin)
        turn = stations.corners_per_m[is_round, None] * np.pi / 2
        excess[is_round] += turn * by_wall * _wall_reach_m(gap_m, width_m, thickness_m)
    if over_slot.any():
        table = _slot_profile(gap_m, width_m, thickness_m)
        excess[over_slot] = _between(stations.plate_beyond_m[over_slot] / gap_m, table)
    gaps_m = gap_m * _GAPS
    if guard is None:
        excess += stations.corners_per_m[:, None] * _corner_m(excess, gaps_m, width_m)
        excess -= stations.crossings_per_m[:, None] * _crossing_m(stations, gaps_m)
    else:
        excess += stations.turn_per_m[:, None] / 2 * excess**2 * gaps_m
    weight_m2 = _fitted(excess, gaps_m, gap_m) * stations.length_m[:, None]
    if guard is None and metal is not None:
        far_m = far_excess_m(covered, *metal, stations, width_m, _BEYOND[-1] * gap_m)
        # The last term hardly changes with the gap.
        share = stations.length_m / stations.length_m.sum()
        weight_m2[:, -1] += far_m * share * gap_m * _FILLINGS[-1]
    return RimFringe(
        weight_m2=weight_m2,
        filled_m=gap_m * _FILLINGS,
        method="field of the edge" if guard is None else "guard, field of the edge",
    )


def _wall_reach_m(gap_m: float, width_m: float, thickness_m: float) -> float:
    """How far out the field lands that leaves the wall of a sheet ending over a plate. [m]"""
    return _WALL[0] * float(np.sqrt(gap_m * width_m)) + _WALL[1] * thickness_m


def _strip_m(covered: Polygon | MultiPolygon, stations: RimStations) -> float:
    """Width of the strip that stands for the outline, slots taken for themselves. [m]

    A slot of width s between strips of width w is like a strip of w² s/(w + s)²: the logarithms of
    the distances between its rims.
    """
    whole_m = equivalent_strip_m(covered)
    over_slot = stations.over_slot
    if not over_slot.any() or over_slot.all():
        return whole_m
    slot_m = 2 * stations.plate_beyond_m[over_slot]
    like_m = whole_m**2 * slot_m / (whole_m + slot_m) ** 2
    length_m = stations.length_m
    taken = float(length_m[over_slot] @ np.log(like_m / whole_m))
    widest_m = float(np.sqrt(covered.area))
    return min(whole_m * float(np.exp(-taken / length_m[~over_slot].sum())), widest_m)


def _is_wide(guard: Guard, stations: RimStations, gap_m: float) -> bool:
    """Whether the plate sees nothing but guard and sheet beyond its slit."""
    needed_m = guard.gap_m + _WIDE_GUARD * gap_m
    return (
        guard.gap_m <= _WIDEST_SLIT * gap_m
        and guard.width_m >= _WIDE_GUARD * gap_m
        and bool(np.all(stations.sheet_beyond_m >= needed_m))
    )


def _closed_form(stations: RimStations, guard: Guard) -> RimFringe:
    half_m = guard.gap_m / 2
    width_m = half_m * (1 + stations.turn_per_m * half_m / 2)
    return RimFringe(
        weight_m2=(width_m * stations.length_m)[:, None],
        filled_m=np.array([_SLIT_SHARE * guard.gap_m]),
        method="guard, closed form",
    )


@lru_cache(maxsize=64)
def _profile(
    gap_m: float,
    width_m: float,
    thickness_m: float,
    slit_m: float,
    guard_m: float,
    is_sheet: bool,
) -> NDArray[np.float64]:
    """Excess at an edge by how far sheet or plate reach beyond it and by gap.

    Returns
    -------
    float array, shape (distances, gaps)
    """
    found = np.empty((len(_BEYOND), len(_GAPS)))
    for row, beyond in enumerate(_BEYOND):
        farther_m = width_m / 2 + beyond * gap_m
        plate_m, sheet_m = (width_m / 2, farther_m) if is_sheet else (farther_m, width_m / 2)
        for column, share in enumerate(_GAPS):
            found[row, column] = excess_per_m(
                EdgeSection(
                    gap_m=share * gap_m,
                    plate_m=plate_m,
                    sheet_m=sheet_m,
                    thickness_m=thickness_m,
                    slit_m=slit_m,
                    guard_m=guard_m,
                )
            )
    return found


@lru_cache(maxsize=64)
def _slot_profile(gap_m: float, width_m: float, thickness_m: float) -> NDArray[np.float64]:
    """Excess at a side of a slot by half its width and by gap, as `_profile`."""
    found = np.zeros((len(_BEYOND), len(_GAPS)))
    for row, half in enumerate(_BEYOND[1:], 1):
        for column, share in enumerate(_GAPS):
            found[row, column] = slot_excess_per_m(
                share * gap_m, width_m, 2 * half * gap_m, thickness_m
            )
    return found


def _between(beyond: NDArray[np.float64], table: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rows of a profile at distances over the gap. Farther than the last changes nothing."""
    course = PchipInterpolator(np.log1p(_BEYOND), table, axis=0)
    return np.asarray(course(np.log1p(np.minimum(beyond, _BEYOND[-1]))), dtype=np.float64)


def _corner_m(
    excess: NDArray[np.float64], gaps_m: NDArray[np.float64], width_m: float
) -> NDArray[np.float64]:
    """What a corner adds to the capacitance over ε0, from equal plates to one over a plane.

    A plate over a plane is half of a pair at twice the distance. [m]
    """
    pair, plane = _limits(tuple(float(gap) for gap in gaps_m), width_m)
    likeness = np.clip((excess - pair) / (plane - pair), 0.0, 1.0)
    fall = 1 + _CORNER_FALL * (1 + likeness) * gaps_m / width_m
    return _CORNER * gaps_m * (1 + 3 * likeness) / fall


def _crossing_m(stations: RimStations, gaps_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """What a crossing takes off, seen along one of its edges. [m]"""
    beyond_m = (stations.sheet_beyond_m + stations.plate_beyond_m)[:, None]
    return _CROSSING * gaps_m * beyond_m / (beyond_m + _CROSSING_FALL * gaps_m)


@lru_cache(maxsize=64)
def _limits(
    gaps_m: tuple[float, ...], width_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Excess of a thin strip over an equal one, and over a plane."""

    def pair(gap_m: float) -> float:
        half_m = width_m / 2
        return excess_per_m(EdgeSection(gap_m=gap_m, plate_m=half_m, sheet_m=half_m))

    return np.array([pair(gap) for gap in gaps_m]), np.array([2 * pair(2 * g) for g in gaps_m])


def _fitted(
    excess: NDArray[np.float64], gaps_m: NDArray[np.float64], gap_m: float
) -> NDArray[np.float64]:
    """Coefficients c of c/(g + s), least squares over the gaps, shape (stations, terms). [m]"""
    basis = 1 / (gaps_m[:, None] + gap_m * _FILLINGS)
    fitted = np.linalg.lstsq(basis, excess.T, rcond=None)[0]
    return np.asarray(fitted.T, dtype=np.float64)
