"""Every feature of a blank as one line of text with all its sizes, and where its label belongs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely import Polygon, box

from modewright.fabrication.bend_marks import bend_text
from modewright.fabrication.contour_features import arms_and_slots, radii, round_hole, taper_mm
from modewright.geometry.flatten import flatten
from modewright.geometry.measures import bounding_box_m
from modewright.geometry.planar import FINE_SAGITTA_M

if TYPE_CHECKING:
    from modewright.fabrication.contour_features import ArmSize, Slot
    from modewright.fabrication.drawing import PointMm
    from modewright.geometry.blank import Blank, NamedPoint, Pocket
    from modewright.geometry.loop import Loop

__all__ = ["Feature", "NamedLoop", "feature_list"]

NamedLoop = tuple[str, "Loop"]

_MOST_RADII = 8
# Places along a body of varying thickness, and how many of them stand in one line.
_STATIONS = 21
_LEAN_DEG = 6e-3
_PER_LINE = 6
_SAME_MM = 5e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """One line of the list.

    Parameters
    ----------
    text : str
        Name and sizes; places count from the datum.
    label : str
        What stands in the drawing; empty for nothing.
    anchor_mm : tuple of two floats
        Place that the label belongs to, in the axes of the design. [mm]
    area_mm : Polygon or None
        What it names, in the axes of the design. [mm]
    """

    text: str
    label: str = ""
    anchor_mm: PointMm = (0.0, 0.0)
    area_mm: Polygon | None = None


def feature_list(
    blank: Blank,
    datum_mm: PointMm,
    *,
    plates: tuple[NamedLoop, ...],
    drivers: tuple[NamedLoop, ...],
    reference: NamedPoint | None,
) -> list[Feature]:
    """List what is cut, then what is held, thinned and attached, then what lies near the sheet.

    Parameters
    ----------
    blank : Blank
    datum_mm : tuple of two floats
        Place from which all others count. [mm]
    plates, drivers : tuple of (str, Loop)
        Pickup plates and faces of drivers.
    reference : NamedPoint or None
        Where modal mass and level are referred to.
    """
    there = _Places(datum_mm)
    arms, slots = arms_and_slots(blank.outline)
    found = [_arm(i, arm, there) for i, arm in enumerate(arms, 1)] if arms else _body(blank)
    found += [_slot(i, slot, there) for i, slot in enumerate(slots, 1)]
    found += _radii(blank)
    found += [_hole(i, hole, there) for i, hole in enumerate(blank.outline.holes, 1)]
    found += [
        _pocket(i, pocket, blank.thickness_m, there) for i, pocket in enumerate(blank.pockets, 1)
    ]
    found += [*_relief(blank, there), *_bends(blank, there), *_held(blank, there)]
    for i, mass in enumerate(blank.masses, 1):
        x, y = _mm(mass.centre_m)
        found.append(
            Feature(
                text=(
                    f"mass {i}: {mass.mass_kg * 1e3:.4g} g on a footprint Ø"
                    f"{mass.footprint_radius_m * 2e3:.3f} at {there.of((x, y))}, {mass.side} face"
                ),
                label=f"mass {i}",
                anchor_mm=(x, y),
            )
        )
    found += [_near("pickup plate", name, loop, there) for name, loop in plates]
    found += [_near("driver", name, loop, there) for name, loop in drivers]
    if reference is not None:
        place = _mm(reference.point_m)
        text = f"reference point ({reference.name}): {there.of(place)}"
        found.append(Feature(text=text, label="reference", anchor_mm=place))
    return found


def _bends(blank: Blank, there: _Places) -> list[Feature]:
    return [
        Feature(
            text=f"bend {i}: "
            + bend_text(
                bend, blank.thickness_m, there.of(_mm(bend.start_m)), there.of(_mm(bend.end_m))
            ),
            label=f"bend {i}",
            anchor_mm=_mm(bend.middle_m),
        )
        for i, bend in enumerate(blank.bends, 1)
    ]


def _mm(point_m: object) -> PointMm:
    x, y = np.asarray(point_m, dtype=float) * 1e3
    return float(x), float(y)


def _polygon_mm(loop: Loop) -> Polygon:
    return Polygon(flatten(loop, FINE_SAGITTA_M) * 1e3)


@dataclass(frozen=True, slots=True)
class _Places:
    """Writes places as they count from the datum."""

    datum_mm: PointMm

    def along(self, axis: int, place_mm: float) -> str:
        return f"{place_mm - self.datum_mm[axis] + 0.0:.3f}"

    def of(self, place: PointMm) -> str:
        return f"x {self.along(0, place[0])}, y {self.along(1, place[1])}"

    def box(self, loop: Loop) -> str:
        low, high = (corner * 1e3 for corner in bounding_box_m(loop))
        return ", ".join(
            f"{name} {self.along(axis, float(low[axis]))} to {self.along(axis, float(high[axis]))}"
            for axis, name in enumerate("xy")
        )


def _arm(number: int, arm: ArmSize, there: _Places) -> Feature:
    near, far = arm.width_mm
    is_even = abs(near - far) < _SAME_MM
    width = f"width {near:.3f}" if is_even else f"width {near:.3f} falling to {far:.3f}"
    if not is_even and far > near:
        width = f"width {near:.3f} rising to {far:.3f}"
    low, high = sorted((arm.root_mm, arm.tip_mm))
    area = box(low, arm.sides_mm[0], high, arm.sides_mm[1])
    if arm.axis == 1:
        area = box(arm.sides_mm[0], low, arm.sides_mm[1], high)
    length = f"length {high - low:.3f} from the slot, "
    if abs(arm.lean_deg) > _LEAN_DEG:
        # Its ends are askew too: only the contour itself tells where they are.
        length = f"leaning by {arm.lean_deg:.3f}°, "
    return Feature(
        text=(
            f"arm {number}: {length}{width}, "
            f"tip at {'xy'[arm.axis]} {there.along(arm.axis, arm.tip_mm)}"
        ),
        label=f"arm {number}",
        anchor_mm=(area.centroid.x, area.centroid.y),
        area_mm=area,
    )


def _body(blank: Blank) -> list[Feature]:
    """Length and widths of a body without arms."""
    low, high = (corner * 1e3 for corner in bounding_box_m(blank.outline.outer))
    round_body = round_hole(blank.outline.outer)
    if round_body is not None and round_body.length_mm == round_body.width_mm:
        return [Feature(text=f"body: Ø{round_body.width_mm:.3f}")]
    sides = (high - low).tolist()
    along = 0 if sides[0] >= sides[1] else 1
    widths = taper_mm(blank.outline, along)
    text = f"body: length {sides[along]:.3f}, width {sides[1 - along]:.3f}"
    if widths is not None and abs(widths[0] - widths[1]) > _SAME_MM:
        text = (
            f"body: length {sides[along]:.3f}, width {widths[0]:.3f} at {'xy'[along]} 0, "
            f"{widths[1]:.3f} at the other end, before corners are rounded"
        )
    return [Feature(text=text)]


def _slot(number: int, slot: Slot, there: _Places) -> Feature:
    along, across = "xy"[slot.axis], "yx"[slot.axis]
    width = "askew" if slot.width_mm is None else f"width {slot.width_mm:.3f}"
    text = f"slot {number}: {width}, root at {along} {there.along(slot.axis, slot.root_mm)}"
    if slot.width_mm is not None:
        text += f", middle at {across} {there.along(1 - slot.axis, slot.middle_mm)}"
    return Feature(text=text)


def _radii(blank: Blank) -> list[Feature]:
    found = radii(blank.outline)
    if len(found) > _MOST_RADII:
        return [Feature(text="curved edge: as in the layer OUTLINE of the DXF file")]
    return [
        Feature(
            text=(
                f"radius {radius.radius_mm:.3f}: {radius.count} "
                f"{'inner' if radius.is_inner else 'outer'} "
                f"arc{'s' if radius.count > 1 else ''}"
            ),
            label=f"R{radius.radius_mm:.4g}",
            anchor_mm=radius.first_mm,
        )
        for radius in found
    ]


def _hole(number: int, hole: Loop, there: _Places) -> Feature:
    found = round_hole(hole)
    low, high = (corner * 1e3 for corner in bounding_box_m(hole))
    if found is None:
        x, y = ((low + high) / 2).tolist()
        text = f"hole {number}: {there.box(hole)}, as in the layer OUTLINE of the DXF file"
        return Feature(
            text=text, label=f"hole {number}", anchor_mm=(x, y), area_mm=_polygon_mm(hole)
        )
    if found.length_mm == found.width_mm:
        size = f"Ø{found.width_mm:.3f}"
    else:
        size = f"{found.length_mm:.3f} × {found.width_mm:.3f}, round ends"
        size += f", at {found.angle_deg:.3g}°" if found.angle_deg else ""
    return Feature(
        text=f"hole {number}: {size}, centre {there.of(found.centre_mm)}",
        label=f"hole {number}",
        anchor_mm=found.centre_mm,
        area_mm=_polygon_mm(hole),
    )


def _pocket(number: int, pocket: Pocket, thickness_m: float, there: _Places) -> Feature:
    low, high = (corner * 1e3 for corner in bounding_box_m(pocket.loop))
    x, y = ((low + high) / 2).tolist()
    left, depth = pocket.thickness_m * 1e3, (thickness_m - pocket.thickness_m) * 1e3
    return Feature(
        text=(
            f"thinned {number}: {left:.3f} left, {depth:.3f} deep from the {pocket.side}, "
            f"{there.box(pocket.loop)}"
        ),
        label=f"thinned {number}",
        anchor_mm=(x, y),
        area_mm=_polygon_mm(pocket.loop),
    )


def _relief(blank: Blank, there: _Places) -> list[Feature]:
    """Depth of a smooth change of thickness at places along x, face by face."""
    if blank.relief is None:
        return []
    low, high = bounding_box_m(blank.outline.outer)
    kinks = [x for x in blank.relief.kinks_m if low[0] <= x <= high[0]]
    evenly = np.linspace(float(low[0]), float(high[0]), _STATIONS)
    distinct = {round(float(x), 9) for x in (*evenly, *kinks)}
    places = np.array(sorted(distinct), dtype=np.float64)
    found: list[Feature] = []
    for side in ("bottom", "top"):
        depths = blank.relief.depth_m(places, side) * 1e3
        if not depths.any():
            continue
        rows = [f"{there.along(0, x)}: {z:.3f}" for x, z in zip(places * 1e3, depths, strict=True)]
        found += [
            Feature(text=f"off the {side}, depth at x {'; '.join(rows[i : i + _PER_LINE])}")
            for i in range(0, len(rows), _PER_LINE)
        ]
    return found


def _held(blank: Blank, there: _Places) -> list[Feature]:
    found = [
        Feature(text=f"support line: from {there.of(_mm(start))} to {there.of(_mm(end))}")
        for start, end in blank.rests_m
    ]
    if blank.hold is None:
        return found
    straight = blank.hold.straight_edges
    for number, edge in enumerate(blank.hold.edges_m):
        start, end = _mm(edge[0]), _mm(edge[1])
        what = "held edge" if number in straight else "held edge, round"
        text = f"{what}: from {there.of(start)} to {there.of(end)}"
        found.append(Feature(text=text))
    for area in blank.hold.areas:
        text = f"held between jaws: {there.box(area)}, cut off at the contour"
        found.append(Feature(text=text))
    return found


def _near(what: str, name: str, loop: Loop, there: _Places) -> Feature:
    low, high = (corner * 1e3 for corner in bounding_box_m(loop))
    x, y = ((low + high) / 2).tolist()
    found = round_hole(loop)
    if found is not None and found.length_mm == found.width_mm:
        size = f"Ø{found.width_mm:.3f}, centre {there.of((x, y))}"
    else:
        size = there.box(loop)
    return Feature(
        text=f'{what} "{name}" (not cut): {size}',
        label=name,
        anchor_mm=(x, y),
        area_mm=_polygon_mm(loop),
    )
