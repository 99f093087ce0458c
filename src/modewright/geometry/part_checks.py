"""What is wrong with the parts that lie on a body: thinned regions, masses, held places."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import LineString, Point, Polygon

from modewright.geometry.body_faults import Part, span_text
from modewright.geometry.places import place_mm
from modewright.geometry.planar import loop_polygon, nearest_places_m, self_crossing_m

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from modewright.geometry.blank import AttachedMass, Hold, Pocket
    from modewright.geometry.body_faults import BodyFaults
    from modewright.geometry.loop import Loop

__all__ = ["check_hold", "check_masses", "check_pockets", "face_fault", "footprint_fault"]

_TOUCH_M = 5e-6


def check_pockets(
    pockets: Sequence[tuple[str, Pocket]], thickness_m: float, body: Polygon, faults: BodyFaults
) -> None:
    """Tell thinned regions that leave nothing, overlap or lie off the sheet.

    Parameters
    ----------
    pockets : sequence of (str, Pocket)
        With the section of the design file that each comes from.
    thickness_m : float
        Of the sheet. [m]
    body : Polygon
        The sheet in plan. [m]
    faults : BodyFaults
        Takes what is found.
    """
    shapes: list[tuple[Part, Polygon]] = []
    for i, (key, pocket) in enumerate(pockets, 1):
        part = Part(key, f"thinned region {i}")
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


def _shapes_on_body(
    part: Part, loops: Sequence[Loop], body: Polygon, faults: BodyFaults
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
                f"The sheet spans {span_text(body)}.",
            )
            continue
        yield polygon


def check_masses(
    masses: Sequence[tuple[str, AttachedMass]], body: Polygon, faults: BodyFaults
) -> None:
    """Tell masses that overlap or reach beyond the edge; parameters as for `check_pockets`."""
    before: list[tuple[AttachedMass, Polygon]] = []
    for i, (key, mass) in enumerate(masses, 1):
        part = Part(key, f"tip mass {i}")
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


def face_fault(face: Loop, body: Polygon) -> tuple[str, str, str] | None:
    """Say what keeps an area from lying wholly on the sheet, as `footprint_fault` does of a disc.

    Parameters
    ----------
    face : Loop
    body : Polygon
        The sheet in plan. [m]
    """
    shape = loop_polygon(face)
    over = shape.difference(body.buffer(_TOUCH_M))
    if over.area <= 0:
        return None
    return (
        "an area wholly on the sheet",
        f"{100 * over.area / shape.area:.1f} % beyond its edge, "
        f"about {place_mm((over.centroid.x, over.centroid.y))}",
        "Move it, turn it or make it smaller.",
    )


def _inset_hint(centre_m: tuple[float, float], radius_m: float, body: Polygon) -> str:
    """Nearest place at which the footprint fits."""
    room = body.buffer(-radius_m)
    if room.is_empty:
        return "It is wider than the sheet everywhere: make it smaller."
    near = nearest_places_m(room, Point(centre_m))[0]
    return f"The nearest place where it fits is {place_mm(near)}."


def check_hold(hold: Hold | None, body: Polygon, faults: BodyFaults) -> None:
    """Tell held places that are not there any more or hold everything.

    Parameters
    ----------
    hold : Hold or None
    body : Polygon
        The sheet in plan. [m]
    faults : BodyFaults
        Takes what is found.
    """
    if hold is None:
        return
    held_area = Part("support", "held area")
    for area in _shapes_on_body(held_area, hold.areas, body, faults):
        if area.covers(body):
            faults.add(
                held_area,
                "a part of the sheet to be free",
                "all of it between jaws",
                "Make the area smaller.",
            )
    for edge, curve in zip(hold.edges_m, hold.edge_curves_m, strict=True):
        # Round contours are polygons here, whose corners stand out a little.
        touch_m = _TOUCH_M if len(curve) == 2 else 2 * _TOUCH_M
        if not body.boundary.buffer(touch_m).covers(LineString(curve)):
            faults.add(
                Part("support", "held edge"),
                "a piece of the outline",
                f"the line from {place_mm(edge[0])} to {place_mm(edge[1])}",
                "A hole or a feature has cut it away, or it lies off the outline.",
            )
