"""Names for modes, from how the sheet moves.

The sheet is looked at along its longer direction. At stations along it the cut sheet falls into
one piece or, where there are slots, several: the arms. Each piece moves (mean), tilts (slope) and
may move in the plane. Names are bending, torsion and lateral with a running number; for several
arms the signs of their motion are added. A body without a longer direction gets numbers only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.ops import unary_union

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.regions import PlaneRegions
    from modewright.modes.sheet_shapes import SheetShapes

__all__ = ["label_modes"]

_STATIONS = 60
_PLACES = 5
_LONG = 1.6
_STILL = 0.12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Strip:
    """One arm, or the undivided part: its pieces along the stations, from root to tip."""

    mean: NDArray[np.float64]  # (stations, 3, modes)
    slope: NDArray[np.float64]  # (stations, modes): half the difference of the two edges


def label_modes(shapes: SheetShapes, regions: PlaneRegions, *, is_held: bool) -> tuple[str, ...]:
    """Name every mode.

    Parameters
    ----------
    shapes : SheetShapes
    regions : PlaneRegions
        Of the same sheet.
    is_held : bool
        Whether the body is held; a free strip has two node lines in its first bending mode.

    Returns
    -------
    tuple of str, length modes
    """
    body = cast("Polygon", unary_union([region.polygon for region in regions.regions]))
    low_x, low_y, high_x, high_y = body.bounds
    along = 0 if high_x - low_x >= high_y - low_y else 1
    spans = (high_x - low_x, high_y - low_y)
    if max(spans) < _LONG * min(spans):
        return tuple(f"mode {i + 1}" for i in range(shapes.mode_count))
    strips = _strips(shapes, body, along)
    names = [_name(strips, mode, along, is_held) for mode in range(shapes.mode_count)]
    return _numbered(names)


def _strips(shapes: SheetShapes, body: Polygon, along: int) -> list[_Strip]:
    low, high = body.bounds[along], body.bounds[along + 2]
    across = (body.bounds[1 - along] - 1.0, body.bounds[3 - along] + 1.0)
    stations = low + (high - low) * (np.arange(_STATIONS) + 0.5) / _STATIONS
    pieces: list[NDArray[np.float64]] = []
    station_of: list[int] = []
    for number, station in enumerate(stations):
        ends = [(station, across[0]), (station, across[1])]
        line = LineString(ends if along == 0 else [end[::-1] for end in ends])
        parts = shapely.get_parts(shapely.intersection(line, body))
        found = [np.asarray(p.coords)[[0, -1]] for p in parts if p.length > 0]
        pieces += sorted((_rising(p, 1 - along) for p in found), key=lambda p: p[0, 1 - along])
        station_of += [number] * len(found)
    cuts = _cuts(shapes, np.array(pieces))
    rows = [[c for c, n in zip(cuts, station_of, strict=True) if n == i] for i in range(_STATIONS)]
    most = max(len(row) for row in rows)
    divided = [row for row in rows if len(row) == most]
    if most == 1 or len(divided) < _STATIONS // 10:
        return [_join([row[0] for row in rows if row])]
    return [_join([row[i] for row in divided]) for i in range(most)]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Cut:
    mean: NDArray[np.float64]
    slope: NDArray[np.float64]


def _rising(piece: NDArray[np.float64], axis: int) -> NDArray[np.float64]:
    return piece if piece[0, axis] <= piece[1, axis] else piece[::-1]


def _cuts(shapes: SheetShapes, pieces: NDArray[np.float64]) -> list[_Cut]:
    """Motion of each straight piece (pieces, 2 ends, 2), all read at once."""
    share = (np.arange(_PLACES) + 0.5) / _PLACES
    run = pieces[:, 1] - pieces[:, 0]
    places = pieces[:, None, 0] + share[:, None] * run[:, None]
    moved = shapes.displacement(places.reshape(-1, 2)).reshape(*places.shape[:2], 3, -1)
    lever = 2 * share - 1
    slope = np.einsum("p,spm->sm", lever, moved[:, :, 2]) / (lever @ lever)
    return [_Cut(mean=m, slope=s) for m, s in zip(moved.mean(axis=1), slope, strict=True)]


def _join(cuts: list[_Cut]) -> _Strip:
    return _Strip(mean=np.array([c.mean for c in cuts]), slope=np.array([c.slope for c in cuts]))


def _name(strips: list[_Strip], mode: int, along: int, is_held: bool) -> str:
    square = np.sum([(strip.mean[:, :, mode] ** 2).sum(axis=0) for strip in strips], axis=0)
    twist = sum(float((strip.slope[:, mode] ** 2).sum()) for strip in strips) / 3
    normal, sideways, endways = square[2], square[1 - along], square[along]
    if max(sideways, endways) > normal + twist:
        return "lateral" if sideways > endways else "axial"
    if twist > normal and len(strips) == 1:
        return f"torsion {_turns([s.slope[:, mode] for s in strips]) + 1}"
    if twist > normal:
        return "torsion of arms"
    turns = _turns([strip.mean[:, 2, mode] for strip in strips])
    number = turns + 1 if is_held else max(1, turns - 1)
    return f"bending {number}{_arm_signs(strips, mode)}"


def _turns(courses: list[NDArray[np.float64]]) -> int:
    """Sign changes along the strip that moves most."""
    course = max(courses, key=lambda c: float((c**2).sum()))
    loud = course[np.abs(course) > 0.02 * np.abs(course).max()]
    return int((np.diff(np.sign(loud)) != 0).sum())


def _arm_signs(strips: list[_Strip], mode: int) -> str:
    if len(strips) == 1:
        return ""
    tips = np.array([strip.mean[-1, 2, mode] for strip in strips])
    signs = np.where(np.abs(tips) < _STILL * np.abs(tips).max(), 0, np.sign(tips))
    loudest = signs[int(np.argmax(np.abs(tips)))]
    moving = set((signs * loudest).tolist()) - {0.0}
    if moving == {1.0}:
        still = int((signs == 0).sum())
        if still == 0:
            return ", arms in phase"
    marks = "".join({1.0: "+", -1.0: "−", 0.0: "0"}[float(s * loudest)] for s in signs)
    return f", arms {marks}"


def _numbered(names: list[str]) -> tuple[str, ...]:
    """Give kinds that carry no number of their own a running one."""
    seen: dict[str, int] = {}
    result: list[str] = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        needs_number = not any(character.isdigit() for character in name)
        repeated = names.count(name) > 1
        result.append(f"{name} {seen[name]}" if needs_number or repeated else name)
    return tuple(result)
