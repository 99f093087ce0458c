"""Electrostatic field of a section through plate, guard and sheet.

The section is a strip with both edges alike, mirrored about its middle: the plate below, thin, a
guard beside it at the plate's potential, and the sheet above with its thickness. Nothing else is
near, and no charge is left over. Charges sit on straight panels that get finer towards every edge.

References
----------
R. F. Harrington, Field Computation by Moment Methods, 1968, ch. 2 (constant charge on panels,
potential matched at their middles; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["EdgeSection", "excess_per_m", "slot_excess_per_m"]

# Panels at an edge and opposite to one, over the gap, and how much each is longer than the last.
_FINEST, _OPPOSITE = 0.004, 0.1
_ALIKE = 1e-6
_GROWTH = 0.25
# How far behind the plate the guard passes, over the slit: farther changes nothing.
_BEHIND = 16.0
# Runs of panels come in steps of so many, so that their number seldom changes with a dimension.
_STEP = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeSection:
    """Half of a section, from its middle outwards.

    Parameters
    ----------
    gap_m : float
        Between plate and sheet, > 0. [m]
    plate_m, sheet_m : float
        Where plate and sheet end, counted from the middle, > 0. [m]
    thickness_m : float
        Of the sheet; 0 for a thin one. [m]
    slit_m, guard_m : float
        Slit beside the plate and width of the guard beyond it; no guard if the width is 0. The
        guard closes behind the plate, as copper on the other side of a board does. [m]
    """

    gap_m: float
    plate_m: float
    sheet_m: float
    thickness_m: float = 0.0
    slit_m: float = 0.0
    guard_m: float = 0.0
    slot_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Panels:
    """Straight panels of one conductor, ends of shape (panels, 2), and its potential."""

    start_m: NDArray[np.float64]
    end_m: NDArray[np.float64]
    potential_v: float


def excess_per_m(section: EdgeSection) -> float:
    """Charge of the plate at one edge beyond that between the faces, per volt, ε0 and metre.

    Parameters
    ----------
    section : EdgeSection

    Returns
    -------
    float
        Beyond that of the width in which plate and sheet face each other. Dimensionless: the
        excess over the gap is the width that the edge adds.

    Notes
    -----
    Thin strips of equal width a, a/g from 2 to 1000: within 0.2 % of a panel size a quarter of
    this one; for a wide strip (1 + ln(2 π a/g))/(2 π) per edge, the limit of Love's solution
    (A. E. H. Love, Proc. London Math. Soc. s2-22 (1924) 337, from memory).
    """
    charge = _charges(_conductors(section))
    return charge[0] - min(section.plate_m, section.sheet_m) / section.gap_m


def slot_excess_per_m(gap_m: float, width_m: float, slot_m: float, thickness_m: float) -> float:
    """The same at each side of a slot in the sheet over a plate that goes on below it.

    Parameters
    ----------
    gap_m : float
        > 0. [m]
    width_m : float
        Of the sheet on either side of the slot. [m]
    slot_m, thickness_m : float
        Of the slot and of the sheet. [m]

    Returns
    -------
    float
        Dimensionless.
    """
    half_m = width_m + slot_m / 2
    ends = EdgeSection(gap_m=gap_m, plate_m=half_m, sheet_m=half_m, thickness_m=thickness_m)
    charge = _charges(_conductors(replace(ends, slot_m=slot_m)))
    return charge[0] - width_m / gap_m - excess_per_m(ends)


def _conductors(section: EdgeSection) -> tuple[_Panels, ...]:
    gap, plate, sheet = section.gap_m, section.plate_m, section.sheet_m
    below = [plate]
    if section.guard_m > 0:
        below += [plate + section.slit_m, plate + section.slit_m + section.guard_m]
    inner = section.slot_m / 2
    found = [_level(0.0, plate, 0.0, [inner, sheet], gap, 1.0)]
    if section.guard_m > 0:
        ring = _level(below[1], below[2], 0.0, [sheet], gap, 1.0)
        depth = _BEHIND * section.slit_m
        back = _level(0.0, below[2], -depth, below[:2], gap, 1.0)
        found.append(_together(ring, _upright(below[2], -depth, 0.0, gap), back))
    faces = [_level(inner, sheet, gap, below, gap, 0.0)]
    if section.thickness_m > 0:
        top = gap + section.thickness_m
        faces.append(_level(inner, sheet, top, [], gap, 0.0))
        faces += [_upright(x, gap, top, gap) for x in (inner, sheet) if x > 0]
    return (*found, _together(*faces))


def _together(*faces: _Panels) -> _Panels:
    return _Panels(
        start_m=np.concatenate([face.start_m for face in faces]),
        end_m=np.concatenate([face.end_m for face in faces]),
        potential_v=faces[0].potential_v,
    )


def _level(
    low: float, high: float, height: float, opposite: list[float], gap: float, potential_v: float
) -> _Panels:
    """A level face; no edge where it begins in the middle of the section."""
    # Edges that lie as good as over each other are one.
    apart = _ALIKE * gap
    inside: list[float] = []
    for x in sorted(opposite):
        if (inside[-1] if inside else low) + apart < x < high - apart:
            inside.append(x)
    marks = [low, *inside, high]
    sizes = [_FINEST * gap if low > 0 else np.inf]
    sizes += [_OPPOSITE * gap] * len(inside) + [_FINEST * gap]
    runs = [_run(marks[k], marks[k + 1], sizes[k], sizes[k + 1]) for k in range(len(marks) - 1)]
    x = np.concatenate([runs[0], *(run[1:] for run in runs[1:])])
    nodes = np.stack([x, np.full_like(x, height)], axis=-1)
    return _Panels(start_m=nodes[:-1], end_m=nodes[1:], potential_v=potential_v)


def _upright(x: float, low: float, high: float, gap: float) -> _Panels:
    y = _run(low, high, _FINEST * gap, _FINEST * gap)
    nodes = np.stack([np.full_like(y, x), y], axis=-1)
    return _Panels(start_m=nodes[:-1], end_m=nodes[1:], potential_v=0.0)


def _run(low: float, high: float, first: float, last: float) -> NDArray[np.float64]:
    """Ends of panels that are about `first` and `last` long at both ends and grow in between."""
    length = high - low
    if np.isinf(first):
        return high - _grown(length, last)[::-1]
    turn = min(max((length + (last - first) / _GROWTH) / 2, 0.0), length)
    pieces: list[NDArray[np.float64]] = []
    if turn > 0:
        pieces.append(low + _grown(turn, first))
    if turn < length:
        pieces.append(high - _grown(length - turn, last)[::-1])
    return np.concatenate([pieces[0], *(piece[1:] for piece in pieces[1:])])


def _grown(length: float, finest: float) -> NDArray[np.float64]:
    """Ends from 0 to `length`, the first panel about `finest` long."""
    logarithm = np.log1p(_GROWTH * length / finest)
    count = _STEP * int(np.ceil(logarithm / _GROWTH / _STEP))
    return length * np.expm1(logarithm * np.arange(count + 1) / count) / np.expm1(logarithm)


def _charges(conductors: tuple[_Panels, ...]) -> list[float]:
    """Charge of each conductor's half over ε0, with none left over in all. [V]"""
    start = np.concatenate([panels.start_m for panels in conductors])
    end = np.concatenate([panels.end_m for panels in conductors])
    counts = [len(panels.start_m) for panels in conductors]
    length = np.linalg.norm(end - start, axis=1)
    middle = (start + end) / 2
    mirror = np.array([-1.0, 1.0])
    total = len(length)
    matrix = np.zeros((total + 1, total + 1))
    matrix[:total, :total] = _potential(middle, start, end)
    matrix[:total, :total] += _potential(middle, start * mirror, end * mirror)
    matrix[:total, total] = 1.0
    matrix[total, :total] = length
    wanted = np.zeros(total + 1)
    wanted[:total] = np.repeat([panels.potential_v for panels in conductors], counts)
    charge = np.linalg.solve(matrix, wanted)[:total] * length
    return [float(part.sum()) for part in np.split(charge, np.cumsum(counts)[:-1])]


def _potential(
    place: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    """-∫ ln(r) dl/(2π) over each panel at each place, shape (places, panels)."""
    length = np.linalg.norm(end - start, axis=1)
    along = (end - start) / length[:, None]
    away = place[:, None] - start
    u = np.sum(away * along, axis=-1)
    v = np.abs(away[..., 1] * along[:, 0] - away[..., 0] * along[:, 1])
    return -(_primitive(length - u, v) + _primitive(u, v)) / (2 * np.pi)


def _primitive(s: NDArray[np.float64], v: NDArray[np.float64]) -> NDArray[np.float64]:
    """∫ ln(sqrt(s² + v²)) ds; never asked for at an end of a panel, where both are 0."""
    return s * np.log(np.hypot(s, v)) - s + v * np.arctan2(s, v)
