"""What is wrong with the cut contour of a body."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.geometry.body_faults import MIN_WEB_M, Part, span_text
from modewright.geometry.places import place_mm
from modewright.geometry.planar import (
    contains,
    loop_polygon,
    nearest_places_m,
    self_crossing_m,
    shared_place_m,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from modewright.geometry.blank import NamedPoint, Outline
    from modewright.geometry.body_faults import BodyFaults
    from modewright.geometry.loop import Loop
    from modewright.geometry.sketch import Sketch

__all__ = ["check_outline", "points_on_sheet"]


def check_outline(outline: Outline, hole_keys: Sequence[str], faults: BodyFaults) -> None:
    """Tell crossings, cuts that leave no metal between them, and holes off the sheet.

    Parameters
    ----------
    outline : Outline
    hole_keys : sequence of str
        Section of the design file that each hole comes from.
    faults : BodyFaults
        Takes what is found.
    """
    loops = [(Part("resonator", "outline"), outline.outer)]
    loops += [
        (Part(key, f"hole {i}"), hole)
        for i, (key, hole) in enumerate(zip(hole_keys, outline.holes, strict=True), 1)
    ]
    sound: list[tuple[Part, Loop]] = []
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


def _check_pair(part: Part, loop: Loop, other_part: Part, other: Loop, faults: BodyFaults) -> None:
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


def _check_inside(part: Part, loop: Loop, shell: Polygon, faults: BodyFaults) -> None:
    polygon = loop_polygon(loop)
    if shell.disjoint(polygon) or polygon.contains(shell):
        faults.add(
            part,
            "a place on the sheet",
            f"one off it at {place_mm(polygon.centroid.coords[0])}",
            f"The sheet spans {span_text(shell)}.",
        )


def points_on_sheet(sketch: Sketch, outline: Outline, faults: BodyFaults) -> tuple[NamedPoint, ...]:
    """Named points that no feature has cut away; the first must be among them."""
    places = np.array([named.point_m for named in sketch.named_points])
    was_there, is_there = contains(sketch.outline, places), contains(outline, places)
    for named, was, still in zip(sketch.named_points, was_there, is_there, strict=True):
        part = Part("resonator", f'point "{named.name}"')
        if not was:
            span = span_text(loop_polygon(outline.outer))
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
