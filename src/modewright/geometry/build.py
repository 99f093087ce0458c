"""From the sections of the design to one blank, with every fault of the shape found at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from shapely import LineString, Point, Polygon

from modewright.errors import BodyError, GeometryError, Problem, Remark
from modewright.geometry.blank import Blank, Outline
from modewright.geometry.fold_plan import plan_of_blank
from modewright.geometry.measures import bounding_box_m
from modewright.geometry.places import place_mm
from modewright.geometry.planar import (
    contains,
    loop_polygon,
    nearest_places_m,
    outline_polygon,
    self_crossing_m,
    shared_place_m,
)
from modewright.geometry.support import Resting

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from modewright.geometry.blank import AttachedMass, Hold, NamedPoint, Pocket, RestLine
    from modewright.geometry.features.parts import Feature, FeatureParts
    from modewright.geometry.loop import Loop
    from modewright.geometry.sketch import Family, Sketch
    from modewright.geometry.support import Support

__all__ = ["blank_from_sketch", "build_blank", "footprint_fault"]

# Metal narrower than this between two cuts burns away or bends off.
MIN_WEB_M = 5e-5
_TOUCH_M = 5e-6
# Places along a body at which its varying thickness is looked at.
_PROBES = 2001


@dataclass(frozen=True, slots=True)
class _Part:
    """What a message calls a part, and the section of the design file that brings it along."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class _Faults:
    """What is wrong, fault by fault, and what to do about it."""

    found: list[Problem | Remark] = field(default_factory=list[Problem | Remark])

    def add(self, part: _Part, expected: str, got: str, hint: str) -> None:
        self.found.append(
            Problem(key=part.key, what=part.name, expected=expected, got=got, hint=hint)
        )

    def told(self, key: str, error: GeometryError) -> None:
        self.found.append(Remark(key=key, text=str(error).removeprefix(f"{key}: ")))

    def raise_if_any(self) -> None:
        if self.found:
            raise BodyError(self.found)


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
    BodyError
        With every fault of the shape and its coordinates in mm.
    """
    return blank_from_sketch(resonator.sketch(design_folder), features, support, thickness_m)


def blank_from_sketch(
    sketch: Sketch, features: Sequence[Feature], support: Support, thickness_m: float
) -> Blank:
    """Blank from a resonator already drawn, such as one whose pickup plates are needed too.

    Parameters and errors as for `build_blank`.
    """
    faults = _Faults()
    parts = _feature_parts(features, sketch, faults)
    holes = [("resonator", hole) for hole in sketch.outline.holes]
    holes += [(key, hole) for key, part in parts for hole in part.holes]
    outline = Outline(outer=sketch.outline.outer, holes=tuple(hole for _, hole in holes))
    _check_outline(outline, [key for key, _ in holes], faults)
    hold = _hold(support, sketch, faults)
    # What lies on the body can only be told once there is one.
    faults.raise_if_any()
    pockets = [("resonator", recess.pocket(thickness_m)) for recess in sketch.recesses]
    pockets += [(key, pocket) for key, part in parts for pocket in part.pockets]
    masses = [(key, mass) for key, part in parts for mass in part.masses]
    bends = [(key, bend) for key, part in parts for bend in part.bends]
    blank = Blank(
        outline=outline,
        thickness_m=thickness_m if sketch.solid is None else sketch.solid.height_m,
        solid=sketch.solid,
        pockets=tuple(pocket for _, pocket in pockets),
        bends=tuple(bend for _, bend in bends),
        relief=sketch.relief,
        masses=tuple(mass for _, mass in masses),
        hold=hold,
        named_points=_points_on_sheet(sketch, outline, faults),
        rests_m=_rests_m(support, sketch, faults),
    )
    body = outline_polygon(blank.outline)
    _check_pockets(pockets, thickness_m, body, faults)
    _check_solid(blank, [key for key, _ in parts], faults)
    _check_relief(blank, [key for key, _ in pockets], faults)
    _check_bends(blank, [key for key, _ in bends], body, faults)
    _check_masses(masses, body, faults)
    _check_hold(blank.hold, body, faults)
    faults.raise_if_any()
    return blank


def _feature_parts(
    features: Sequence[Feature], sketch: Sketch, faults: _Faults
) -> list[tuple[str, FeatureParts]]:
    """Parts of every feature that can be made, with its place in the design file."""
    found: list[tuple[str, FeatureParts]] = []
    for number, feature in enumerate(features, 1):
        key = f"features[{number}]"
        try:
            found.append((key, feature.parts(sketch)))
        except GeometryError as error:
            faults.told(key, error)
    return found


def _hold(support: Support, sketch: Sketch, faults: _Faults) -> Hold | None:
    try:
        return support.hold(sketch)
    except GeometryError as error:
        faults.told("support", error)
        return None


def _rests_m(support: Support, sketch: Sketch, faults: _Faults) -> tuple[RestLine, ...]:
    if not isinstance(support, Resting):
        return ()
    try:
        return support.rests_m(sketch)
    except GeometryError as error:
        faults.told("support", error)
        return ()


def _check_outline(outline: Outline, hole_keys: Sequence[str], faults: _Faults) -> None:
    loops = [(_Part("resonator", "outline"), outline.outer)]
    loops += [
        (_Part(key, f"hole {i}"), hole)
        for i, (key, hole) in enumerate(zip(hole_keys, outline.holes, strict=True), 1)
    ]
    sound: list[tuple[_Part, Loop]] = []
    for part, loop in loops:
        crossing = self_crossing_m(loop)
        if crossing is None:
            sound.append((part, loop))
        else:
            faults.add(
                part,
                "a curve that does not cross itself",
                f"a crossing at {place_mm(crossing)}",
                "Move the corners near there apart.",
            )
    shell = loop_polygon(outline.outer) if sound and sound[0][0].name == "outline" else None
    for index, (part, loop) in enumerate(sound):
        for other_part, other in sound[:index]:
            _check_pair(part, loop, other_part, other, faults)
        if shell is not None and part.name != "outline":
            _check_inside(part, loop, shell, faults)


def _check_pair(part: _Part, loop: Loop, other_part: _Part, other: Loop, faults: _Faults) -> None:
    clear = f"clear metal between it and {other_part.name}"
    crossing = shared_place_m(loop, other)
    if crossing is not None:
        faults.add(part, clear, f"a crossing at {place_mm(crossing)}", "Move or shrink it.")
        return
    first, second = loop_polygon(loop), loop_polygon(other)
    if "outline" not in (part.name, other_part.name) and first.intersects(second):
        inside = f"one inside the other at {place_mm(first.centroid.coords[0])}"
        faults.add(part, clear, inside, "Leave one of them out.")
        return
    web_m = first.exterior.distance(second.exterior)
    if web_m < MIN_WEB_M:
        near = nearest_places_m(first.exterior, second.exterior)
        faults.add(
            part,
            f"at least {MIN_WEB_M * 1e3:g} mm of metal between it and {other_part.name}",
            f"{web_m * 1e3:.4f} mm at {place_mm(near[0])}",
            "Move or shrink it.",
        )


def _check_inside(part: _Part, loop: Loop, shell: Polygon, faults: _Faults) -> None:
    polygon = loop_polygon(loop)
    if shell.disjoint(polygon) or polygon.contains(shell):
        faults.add(
            part,
            "a place on the sheet",
            f"one off it at {place_mm(polygon.centroid.coords[0])}",
            f"The sheet spans {_span(shell)}.",
        )


def _points_on_sheet(sketch: Sketch, outline: Outline, faults: _Faults) -> tuple[NamedPoint, ...]:
    """Named points that no feature has cut away; the first must be among them."""
    places = np.array([named.point_m for named in sketch.named_points])
    was_there, is_there = contains(sketch.outline, places), contains(outline, places)
    for named, was, still in zip(sketch.named_points, was_there, is_there, strict=True):
        part = _Part("resonator", f'point "{named.name}"')
        if not was:
            span = _span(loop_polygon(outline.outer))
            faults.add(
                part, "a place on the sheet", place_mm(named.point_m), f"The sheet spans {span}."
            )
        elif not still and named is sketch.named_points[0]:
            faults.add(
                part,
                "sheet at the default reference point",
                f"a hole at {place_mm(named.point_m)}",
                "Move the hole.",
            )
    return tuple(n for n, still in zip(sketch.named_points, is_there, strict=True) if still) or (
        sketch.named_points[0],
    )


def _span(body: Polygon) -> str:
    low_x, low_y, high_x, high_y = (round(v * 1e3, 3) + 0.0 for v in body.bounds)
    return f"x {low_x:g} to {high_x:g} mm, y {low_y:g} to {high_y:g} mm"


def _check_pockets(
    pockets: Sequence[tuple[str, Pocket]], thickness_m: float, body: Polygon, faults: _Faults
) -> None:
    shapes: list[tuple[_Part, Polygon]] = []
    for i, (key, pocket) in enumerate(pockets, 1):
        part = _Part(key, f"thinned region {i}")
        if pocket.thickness_m >= thickness_m:
            faults.add(
                part,
                f"less than the sheet's {thickness_m * 1e3:g} mm to remain",
                f"{pocket.thickness_m * 1e3:g} mm",
                "Give the thickness that is left, not the depth.",
            )
        elif pocket.thickness_m <= 0:
            faults.add(
                part,
                f"less depth than the sheet's {thickness_m * 1e3:g} mm",
                f"{(thickness_m - pocket.thickness_m) * 1e3:g} mm",
                "Nothing of the sheet would remain.",
            )
        for shape in _shapes_on_body(part, [pocket.loop], body, faults):
            for other, there in shapes:
                if shape.intersection(there).area > 0:
                    place = shape.intersection(there).representative_point()
                    faults.add(
                        part,
                        f"no overlap with {other.name}",
                        f"one at {place_mm(place.coords[0])}",
                        "Draw them side by side.",
                    )
            shapes.append((part, shape))


def _check_solid(blank: Blank, feature_keys: Sequence[str], faults: _Faults) -> None:
    if blank.solid is None:
        return
    for key in feature_keys:
        faults.add(
            _Part(key, "feature"),
            "sheet to apply it to",
            "a solid",
            "Shape the solid itself, and leave the feature out.",
        )
    if blank.hold is not None and blank.hold.faces is None:
        faults.add(
            _Part("support", "support"),
            "a solid held at its faces, or free",
            "a hold for sheet",
            'Write kind = "clamped", "elastic clamp" or "free".',
        )


def _check_relief(blank: Blank, pocket_keys: Sequence[str], faults: _Faults) -> None:
    if blank.relief is None:
        return
    for i, key in enumerate(pocket_keys, 1):
        faults.add(
            _Part(key, f"thinned region {i}"),
            "a body of one thickness",
            "one whose thickness varies",
            "Leave the region out, or shape the body by its arches alone.",
        )
    low, high = bounding_box_m(blank.outline.outer)
    x = np.linspace(float(low[0]), float(high[0]), _PROBES)
    bottom, top = blank.relief.faces_m(x, blank.thickness_m)
    least = int(np.argmin(top - bottom))
    if top[least] - bottom[least] < MIN_WEB_M:
        left_mm = (top[least] - bottom[least]) * 1e3
        faults.add(
            _Part("resonator", "thickness"),
            f"at least {MIN_WEB_M * 1e3:g} mm of metal to remain everywhere",
            f"{left_mm:.3f} mm at x = {x[least] * 1e3:.3f} mm",
            f"The stock is {blank.thickness_m * 1e3:g} mm thick: make the depths smaller.",
        )


def _check_bends(blank: Blank, keys: Sequence[str], body: Polygon, faults: _Faults) -> None:
    if not keys:
        return
    if blank.pockets or blank.relief is not None:
        part = _Part(keys[0], "bend 1")
        hint = "Bends go with sheet as it comes: leave out what makes it thinner."
        faults.add(part, "sheet of one thickness", "some that is thinner in places", hint)
        return
    try:
        plan = plan_of_blank(blank, body)
    except GeometryError as error:
        faults.told(keys[0], error)
        return
    for i, mass in enumerate(blank.masses, 1):
        foot = Point(mass.centre_m).buffer(mass.footprint_radius_m)
        if any(foot.intersects(zone) for zone in plan.zones):
            faults.add(
                _Part(keys[0], f"tip mass {i}"),
                "a footprint clear of every bend",
                f"one on a bend at {place_mm(mass.centre_m)}",
                "Move it onto a flat panel.",
            )
    if blank.hold is None or blank.hold.stiffness_n_per_m3 is None:
        return
    held = [edge.mean(axis=0) for edge in blank.hold.edges_m]
    held += [area.vertices_m.mean(axis=0) for area in blank.hold.areas]
    if any(plan.part_at(Point(place)) != ((), False) for place in held):
        faults.add(
            _Part("support", "support"),
            "an elastic hold on the panel that stays in place alone",
            "one on a panel that is bent away too",
            "Hold that panel rigidly, or not at all.",
        )


def _shapes_on_body(
    part: _Part, loops: Sequence[Loop], body: Polygon, faults: _Faults
) -> Iterator[Polygon]:
    """Areas that are sound and lie on the body at least in part; the others are reported."""
    for loop in loops:
        crossing = self_crossing_m(loop)
        if crossing is not None:
            faults.add(
                part,
                "a curve that does not cross itself",
                f"a crossing at {place_mm(crossing)}",
                "List its corners in order.",
            )
            continue
        polygon = loop_polygon(loop)
        if body.intersection(polygon).area <= 0:
            faults.add(
                part,
                "an area on the sheet",
                f"one off it at {place_mm(polygon.centroid.coords[0])}",
                f"The sheet spans {_span(body)}.",
            )
            continue
        yield polygon


def _check_masses(
    masses: Sequence[tuple[str, AttachedMass]], body: Polygon, faults: _Faults
) -> None:
    before: list[tuple[AttachedMass, Polygon]] = []
    for i, (key, mass) in enumerate(masses, 1):
        part = _Part(key, f"tip mass {i}")
        fault = footprint_fault(mass.centre_m, mass.footprint_radius_m, body)
        if fault is not None:
            faults.add(part, *fault)
        shape = _footprint(mass)
        for j, (other, there) in enumerate(before, 1):
            if other.side == mass.side and shape.intersection(there).area > 0:
                place = shape.intersection(there).centroid.coords[0]
                faults.add(
                    part,
                    "a place of its own",
                    f"an overlap with tip mass {j} at {place_mm(place)}",
                    "Move them apart.",
                )
        before.append((mass, shape))


def _footprint(mass: AttachedMass) -> Polygon:
    return Point(mass.centre_m).buffer(mass.footprint_radius_m)


def footprint_fault(
    centre_m: tuple[float, float], radius_m: float, body: Polygon
) -> tuple[str, str, str] | None:
    """Say what keeps a disc from lying wholly on the sheet: expected, got, hint; None if nothing.

    Parameters
    ----------
    centre_m : tuple of two floats
        [m]
    radius_m : float
        [m]
    body : Polygon
        The sheet in plan. [m]
    """
    shape = Point(centre_m).buffer(radius_m)
    over = shape.difference(body.buffer(_TOUCH_M))
    if over.area <= 0:
        return None
    return (
        "a footprint wholly on the sheet",
        f"{100 * over.area / shape.area:.1f} % beyond its edge (centre {place_mm(centre_m)}, "
        f"diameter {radius_m * 2e3:g} mm)",
        _inset_hint(centre_m, radius_m, body),
    )


def _inset_hint(centre_m: tuple[float, float], radius_m: float, body: Polygon) -> str:
    """Nearest place at which the footprint fits."""
    room = body.buffer(-radius_m)
    if room.is_empty:
        return "It is wider than the sheet everywhere: make it smaller."
    near = nearest_places_m(room, Point(centre_m))[0]
    return f"The nearest place where it fits is {place_mm(near)}."


def _check_hold(hold: Hold | None, body: Polygon, faults: _Faults) -> None:
    if hold is None:
        return
    held_area = _Part("support", "held area")
    for area in _shapes_on_body(held_area, hold.areas, body, faults):
        if area.covers(body):
            faults.add(
                held_area,
                "a part of the sheet to be free",
                "all of it between jaws",
                "Make the area smaller.",
            )
    ring = body.boundary.buffer(_TOUCH_M)
    for edge in hold.edges_m:
        if not ring.covers(LineString(np.asarray(edge))):
            faults.add(
                _Part("support", "held edge"),
                "a straight piece of the outline",
                f"the line from {place_mm(edge[0])} to {place_mm(edge[1])}",
                "A hole or a feature has cut it away, or it lies off the outline.",
            )
