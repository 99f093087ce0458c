"""The drawing of a blank for the cutter: contour, held edges, dimensions and notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from shapely import LinearRing, Point

from modewright.fabrication.drawing import Contour, Drawing, Line, Measure, Note
from modewright.geometry.flatten import flatten
from modewright.geometry.loop import Loop

if TYPE_CHECKING:
    from modewright.geometry.blank import Blank

__all__ = ["draw_blank"]

_FIRST_MM = 6.0
_STEP_MM = 6.0
_SAME_MM = 0.01
_SHORTEST_EDGE_MM = 2.0


def draw_blank(
    blank: Blank,
    *,
    title: str,
    facts: tuple[str, ...],
    plates: tuple[tuple[str, Loop], ...] = (),
) -> Drawing:
    """Draw a blank with its dimensions.

    Parameters
    ----------
    blank : Blank
    title : str
    facts : tuple of str
        Lines for the title block; the thickness is added in front.
    plates : tuple of (str, Loop)
        Pickup plates to show with their names, for orientation only.

    Returns
    -------
    Drawing
        Dimensioned from the lower left of the contour: overall size, every named point along the
        length, every hole.
    """
    contours = [Contour(loop=blank.outline.outer, layer="OUTLINE")]
    contours += [Contour(loop=hole, layer="OUTLINE") for hole in blank.outline.holes]
    contours += [Contour(loop=pocket.loop, layer="POCKET") for pocket in blank.pockets]
    contours += [
        Contour(loop=_circle(mass.centre_m, mass.footprint_radius_m), layer="MASS")
        for mass in blank.masses
    ]
    contours += [Contour(loop=loop, layer="PICKUP") for _, loop in plates]
    lines: list[Line] = []
    if blank.hold is not None:
        contours += [Contour(loop=area, layer="CLAMP") for area in blank.hold.areas]
        lines += [
            Line(start_mm=_mm(edge[0]), end_mm=_mm(edge[1]), layer="CLAMP")
            for edge in blank.hold.edges_m
        ]
    return Drawing(
        title=title,
        contours=tuple(contours),
        lines=tuple(lines),
        measures=tuple(_measures(blank)),
        notes=tuple(_notes(blank, plates)),
        facts=(f"thickness {blank.thickness_m * 1e3:g} mm", *facts),
    )


def _mm(point_m: object) -> tuple[float, float]:
    x, y = np.asarray(point_m, dtype=float) * 1e3
    return float(x), float(y)


def _circle(centre_m: tuple[float, float], radius_m: float) -> Loop:
    x, y = centre_m
    return Loop(vertices_m=np.array([[x - radius_m, y], [x + radius_m, y]]), bulge=np.ones(2))


def _measures(blank: Blank) -> list[Measure]:
    corners = flatten(blank.outline.outer, 1e-5) * 1e3
    (low_x, low_y), (high_x, high_y) = corners.min(axis=0), corners.max(axis=0)
    edge = LinearRing(corners)
    stops = sorted(
        {
            round(_mm(p.point_m)[0], 3)
            for p in blank.named_points
            if edge.distance(Point(_mm(p.point_m))) < _SAME_MM
        }
    )
    stops = [x for x in stops if low_x + _SAME_MM < x < high_x - _SAME_MM]
    stops += [round(float(x), 3) for x in np.unique(corners[:, 0].round(3)) if _is_tip(corners, x)]
    inner = sorted({x for x in stops if low_x + _SAME_MM < x < high_x - _SAME_MM})
    origin = (float(low_x), float(low_y))
    found = [
        Measure(
            start_mm=origin, end_mm=(x, float(low_y)), axis="x",
            at_mm=float(low_y) - _FIRST_MM - _STEP_MM * row, text=f"{x - low_x:.3f}",
        )
        for row, x in enumerate([*inner, float(high_x)])
    ]  # fmt: skip
    across = [*_edges_across(corners, float(low_y), float(high_y)), float(high_y)]
    found += [
        Measure(
            start_mm=origin, end_mm=(float(low_x), y), axis="y",
            at_mm=float(low_x) - _FIRST_MM - _STEP_MM * row, text=f"{y - low_y:.3f}",
        )
        for row, y in enumerate(across)
    ]  # fmt: skip
    return found


def _edges_across(corners: np.ndarray, low_y: float, high_y: float) -> list[float]:
    """Places across the blank of edges that run along it, such as the sides of arms and slots."""
    ends = np.roll(corners, -1, axis=0)
    runs_along = np.abs(ends[:, 1] - corners[:, 1]) < _SAME_MM
    is_long = np.abs(ends[:, 0] - corners[:, 0]) > _SHORTEST_EDGE_MM
    places = np.unique(corners[runs_along & is_long, 1].round(3))
    return [float(y) for y in places if low_y + _SAME_MM < y < high_y - _SAME_MM]


def _is_tip(corners: np.ndarray, x: float) -> bool:
    """Whether a straight end of an arm lies at this place: two neighbouring corners share it."""
    at = np.abs(corners[:, 0] - x) < _SAME_MM
    return bool(np.any(at & np.roll(at, -1)))


def _notes(blank: Blank, plates: tuple[tuple[str, Loop], ...]) -> list[Note]:
    notes: list[Note] = []
    for hole in blank.outline.holes:
        middle = flatten(hole, 1e-5).mean(axis=0)
        notes.append(Note(place_mm=_mm(middle), text=_size_text(hole), height_mm=2.0))
    for pocket in blank.pockets:
        middle = flatten(pocket.loop, 1e-5).mean(axis=0)
        text = f"{pocket.thickness_m * 1e3:g} mm left, from {pocket.side}"
        notes.append(Note(place_mm=_mm(middle), text=text, height_mm=2.0))
    for mass in blank.masses:
        text = f"mass {mass.mass_kg * 1e3:.3g} g ({mass.side})"
        beside = (mass.centre_m[0] + 1.1 * mass.footprint_radius_m, mass.centre_m[1])
        notes.append(Note(place_mm=_mm(beside), text=text, height_mm=2.0))
    notes += _radius_notes(blank)
    for name, loop in plates:
        notes.append(Note(place_mm=_mm(loop.vertices_m.mean(axis=0)), text=name, height_mm=2.0))
    return notes


def _size_text(hole: Loop) -> str:
    is_round = len(hole.bulge) == 2 and bool(np.all(np.abs(hole.bulge) == 1))
    size_mm = np.ptp(flatten(hole, 1e-5) if not is_round else hole.vertices_m, axis=0) * 1e3
    if is_round:
        return f"⌀{np.hypot(*size_mm):.2f}"
    return f"{size_mm[0]:.2f} × {size_mm[1]:.2f}"


def _radius_notes(blank: Blank) -> list[Note]:
    """Radius and number of the arcs of each radius in the outer contour, at the first of them."""
    outer = blank.outline.outer
    ends = np.roll(outer.vertices_m, -1, axis=0)
    seen: dict[str, list[np.ndarray]] = {}
    for start, end, bulge in zip(outer.vertices_m, ends, outer.bulge, strict=True):
        if bulge != 0:
            radius = float(np.hypot(*(end - start))) * (1 + bulge**2) / (4 * abs(bulge))
            seen.setdefault(f"R{radius * 1e3:.3g}", []).append((start + end) / 2)
    return [
        Note(
            place_mm=(_mm(places[0])[0] + 0.5, _mm(places[0])[1] + 0.5),
            text=name if len(places) == 1 else f"{name} × {len(places)}",
            height_mm=2.0,
        )
        for name, places in seen.items()
    ]
