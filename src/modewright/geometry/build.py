"""From the sections of the design to one blank, with every fault of the shape found at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from shapely import LineString, Point, Polygon

from modewright.geometry.blank import Blank, Outline
from modewright.geometry.places import place_mm, raise_faults
from modewright.geometry.planar import (
    contains,
    loop_polygon,
    nearest_places_m,
    outline_polygon,
    self_crossing_m,
    shared_place_m,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from modewright.geometry.blank import AttachedMass, Hold, NamedPoint, Pocket
    from modewright.geometry.features.parts import Feature
    from modewright.geometry.loop import Loop
    from modewright.geometry.sketch import Family, Sketch
    from modewright.geometry.support import Support

__all__ = ["blank_from_sketch", "build_blank"]

# Metal narrower than this between two cuts burns away or bends off.
MIN_WEB_M = 5e-5
_TOUCH_M = 5e-6


@dataclass(frozen=True, slots=True)
class _Faults:
    """What is wrong, sentence by sentence, and what to do about it."""

    found: list[str] = field(default_factory=list[str])

    def add(self, what: str, hint: str) -> None:
        self.found.append(f"{what} {hint}")

    def raise_if_any(self) -> None:
        raise_faults(self.found)


def build_blank(
    resonator: Family,
    features: Sequence[Feature],
    support: Support,
    thickness_m: float,
    design_folder: Path,
) -> Blank:
    """Blank of a design.

    Parameters
    ----------
    resonator : Family
        Section of the family.
    features : sequence of Feature
        In the order of the file.
    support : Support
    thickness_m : float
        Thickness of the sheet, > 0. [m]
    design_folder : Path
        Folder of the design file, from which drawings are named.

    Returns
    -------
    Blank

    Raises
    ------
    GeometryError
        With every fault of the shape and its coordinates in mm.
    """
    return blank_from_sketch(resonator.sketch(design_folder), features, support, thickness_m)


def blank_from_sketch(
    sketch: Sketch, features: Sequence[Feature], support: Support, thickness_m: float
) -> Blank:
    """Blank from a resonator already drawn, such as one whose pickup plates are needed too.

    Parameters and errors as for `build_blank`.
    """
    parts = [feature.parts(sketch) for feature in features]
    added = tuple(hole for part in parts for hole in part.holes)
    outline = Outline(outer=sketch.outline.outer, holes=(*sketch.outline.holes, *added))
    faults = _Faults()
    _check_outline(outline, faults)
    # What lies on the body can only be told once there is one.
    faults.raise_if_any()
    blank = Blank(
        outline=outline,
        thickness_m=thickness_m,
        pockets=tuple(pocket for part in parts for pocket in part.pockets),
        masses=tuple(mass for part in parts for mass in part.masses),
        hold=support.hold(sketch),
        named_points=_points_on_sheet(sketch, outline, faults),
    )
    body = outline_polygon(blank.outline)
    _check_pockets(blank.pockets, thickness_m, body, faults)
    _check_masses(blank.masses, body, faults)
    _check_hold(blank.hold, body, faults)
    faults.raise_if_any()
    return blank


def _check_outline(outline: Outline, faults: _Faults) -> None:
    loops = [("outline", outline.outer)]
    loops += [(f"hole {i}", hole) for i, hole in enumerate(outline.holes, 1)]
    sound: list[tuple[str, Loop]] = []
    for name, loop in loops:
        crossing = self_crossing_m(loop)
        if crossing is None:
            sound.append((name, loop))
        else:
            faults.add(
                f"{name}: expected a curve that does not cross itself, got a crossing at "
                f"{place_mm(crossing)}.",
                "Move the corners near there apart.",
            )
    shell = loop_polygon(outline.outer) if sound and sound[0][0] == "outline" else None
    for index, (name, loop) in enumerate(sound):
        for other_name, other in sound[:index]:
            _check_pair(name, loop, other_name, other, faults)
        if shell is not None and name != "outline":
            _check_inside(name, loop, shell, faults)


def _check_pair(name: str, loop: Loop, other_name: str, other: Loop, faults: _Faults) -> None:
    crossing = shared_place_m(loop, other)
    if crossing is not None:
        faults.add(
            f"{name}: expected clear metal between it and {other_name}, got a crossing at "
            f"{place_mm(crossing)}.",
            "Move or shrink it.",
        )
        return
    first, second = loop_polygon(loop), loop_polygon(other)
    if "outline" not in (name, other_name) and first.intersects(second):
        faults.add(
            f"{name}: expected clear metal between it and {other_name}, got one inside the other "
            f"at {place_mm(first.centroid.coords[0])}.",
            "Leave one of them out.",
        )
        return
    web_m = first.exterior.distance(second.exterior)
    if web_m < MIN_WEB_M:
        near = nearest_places_m(first.exterior, second.exterior)
        faults.add(
            f"{name}: expected at least {MIN_WEB_M * 1e3:g} mm of metal between it and "
            f"{other_name}, got {web_m * 1e3:.4f} mm at {place_mm(near[0])}.",
            "Move or shrink it.",
        )


def _check_inside(name: str, loop: Loop, shell: Polygon, faults: _Faults) -> None:
    polygon = loop_polygon(loop)
    if shell.disjoint(polygon) or polygon.contains(shell):
        faults.add(
            f"{name}: expected a place on the sheet, got one off it at "
            f"{place_mm(polygon.centroid.coords[0])}.",
            f"The sheet spans {_span(shell)}.",
        )


def _points_on_sheet(sketch: Sketch, outline: Outline, faults: _Faults) -> tuple[NamedPoint, ...]:
    """Named points that no feature has cut away; the first must be among them."""
    places = np.array([named.point_m for named in sketch.named_points])
    was_there, is_there = contains(sketch.outline, places), contains(outline, places)
    for named, was, still in zip(sketch.named_points, was_there, is_there, strict=True):
        if not was:
            faults.add(
                f'point "{named.name}": expected a place on the sheet, got '
                f"{place_mm(named.point_m)}.",
                f"The sheet spans {_span(loop_polygon(outline.outer))}.",
            )
        elif not still and named is sketch.named_points[0]:
            faults.add(
                f'point "{named.name}": expected sheet at the default reference point, got a hole '
                f"at {place_mm(named.point_m)}.",
                "Move the hole.",
            )
    return tuple(n for n, still in zip(sketch.named_points, is_there, strict=True) if still) or (
        sketch.named_points[0],
    )


def _span(body: Polygon) -> str:
    low_x, low_y, high_x, high_y = (round(v * 1e3, 3) + 0.0 for v in body.bounds)
    return f"x {low_x:g} to {high_x:g} mm, y {low_y:g} to {high_y:g} mm"


def _check_pockets(
    pockets: tuple[Pocket, ...], thickness_m: float, body: Polygon, faults: _Faults
) -> None:
    shapes: list[tuple[str, Polygon]] = []
    for i, pocket in enumerate(pockets, 1):
        name = f"thinned region {i}"
        if pocket.thickness_m >= thickness_m:
            faults.add(
                f"{name}: expected less than the sheet's {thickness_m * 1e3:g} mm to remain, got "
                f"{pocket.thickness_m * 1e3:g} mm.",
                "Give the thickness that is left, not the depth.",
            )
        for shape in _shapes_on_body(name, [pocket.loop], body, faults):
            for other, there in shapes:
                if shape.intersection(there).area > 0:
                    place = shape.intersection(there).representative_point()
                    faults.add(
                        f"{name}: expected no overlap with {other}, got one at "
                        f"{place_mm(place.coords[0])}.",
                        "Draw them side by side.",
                    )
            shapes.append((name, shape))


def _shapes_on_body(
    name: str, loops: Sequence[Loop], body: Polygon, faults: _Faults
) -> Iterator[Polygon]:
    """Areas that are sound and lie on the body at least in part; the others are reported."""
    for loop in loops:
        crossing = self_crossing_m(loop)
        if crossing is not None:
            faults.add(
                f"{name}: expected a curve that does not cross itself, got a crossing at "
                f"{place_mm(crossing)}.",
                "List its corners in order.",
            )
            continue
        polygon = loop_polygon(loop)
        if body.intersection(polygon).area <= 0:
            faults.add(
                f"{name}: expected an area on the sheet, got one off it at "
                f"{place_mm(polygon.centroid.coords[0])}.",
                f"The sheet spans {_span(body)}.",
            )
            continue
        yield polygon


def _check_masses(masses: tuple[AttachedMass, ...], body: Polygon, faults: _Faults) -> None:
    prints = [Point(mass.centre_m).buffer(mass.footprint_radius_m) for mass in masses]
    for i, (mass, shape) in enumerate(zip(masses, prints, strict=True), 1):
        over = shape.difference(body.buffer(_TOUCH_M))
        if over.area > 0:
            faults.add(
                f"tip mass {i}: expected a footprint wholly on the sheet, got "
                f"{100 * over.area / shape.area:.1f} % beyond its edge (centre "
                f"{place_mm(mass.centre_m)}, diameter {mass.footprint_radius_m * 2e3:g} mm).",
                _inset_hint(mass, body),
            )
        for j, (other, there) in enumerate(zip(masses[: i - 1], prints, strict=False), 1):
            if other.side == mass.side and shape.intersection(there).area > 0:
                faults.add(
                    f"tip mass {i}: expected a place of its own, got an overlap with tip mass {j} "
                    f"at {place_mm(shape.intersection(there).centroid.coords[0])}.",
                    "Move them apart.",
                )


def _inset_hint(mass: AttachedMass, body: Polygon) -> str:
    """Nearest place at which the footprint fits."""
    room = body.buffer(-mass.footprint_radius_m)
    if room.is_empty:
        return "It is wider than the sheet everywhere: make it smaller."
    near = nearest_places_m(room, Point(mass.centre_m))[0]
    return f"The nearest place where it fits is {place_mm(near)}: set offset or centre."


def _check_hold(hold: Hold | None, body: Polygon, faults: _Faults) -> None:
    if hold is None:
        return
    for area in _shapes_on_body("held area", hold.areas, body, faults):
        if area.covers(body):
            faults.add(
                "held area: expected a part of the sheet to be free, got all of it between jaws.",
                "Make the area smaller.",
            )
    ring = body.boundary.buffer(_TOUCH_M)
    for edge in hold.edges_m:
        if not ring.covers(LineString(np.asarray(edge))):
            faults.add(
                f"held edge: expected a straight piece of the outline, got the line from "
                f"{place_mm(edge[0])} to {place_mm(edge[1])}.",
                "A hole or a feature has cut it away, or it lies off the outline.",
            )
