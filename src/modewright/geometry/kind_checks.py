"""What kinds of body do not go with: features of solids, thinning of arches, parts on bends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from shapely import Point

from modewright.errors import GeometryError
from modewright.geometry.body_faults import MIN_WEB_M, Part
from modewright.geometry.fold_plan import plan_of_blank
from modewright.geometry.measures import bounding_box_m
from modewright.geometry.places import place_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from modewright.geometry.blank import Blank
    from modewright.geometry.body_faults import BodyFaults

__all__ = ["check_bends", "check_relief", "check_solid", "check_thickness"]

# Places along a body at which its varying thickness is looked at.
_PROBES = 2001


def check_thickness(blank: Blank, faults: BodyFaults) -> None:
    """Tell stock so thick that what is cut from it is a column, not a sheet or a bar.

    Parameters
    ----------
    blank : Blank
    faults : BodyFaults
        Takes what is found.
    """
    low, high = bounding_box_m(blank.outline.outer)
    longest_m = float(np.max(high - low))
    if blank.solid is None and blank.thickness_m > longest_m:
        faults.add(
            Part("stock.thickness", "sheet"),
            f"stock no thicker than the body is long, {longest_m * 1e3:g} mm",
            f"{blank.thickness_m * 1e3:g} mm",
            "Check both units; a rod or a solid can be cut along its length.",
        )


def check_solid(blank: Blank, feature_keys: Sequence[str], faults: BodyFaults) -> None:
    """Tell features of a solid, which are for sheet, and holds that it cannot have.

    Parameters
    ----------
    blank : Blank
    feature_keys : sequence of str
        Section of the design file of every feature.
    faults : BodyFaults
        Takes what is found.
    """
    if blank.solid is None:
        return
    for key in feature_keys:
        faults.add(
            Part(key, "feature"),
            "sheet to apply it to",
            "a solid",
            "Shape the solid itself, and leave the feature out.",
        )
    if blank.hold is not None and blank.hold.faces is None:
        faults.add(
            Part("support", "support"),
            "a solid held at its faces, or free",
            "a hold for sheet",
            'Write kind = "clamped", "elastic clamp" or "free".',
        )


def check_relief(blank: Blank, pocket_keys: Sequence[str], faults: BodyFaults) -> None:
    """Tell a body of varying thickness that is thinned as well, or has no metal left somewhere.

    Parameters
    ----------
    blank : Blank
    pocket_keys : sequence of str
        Section of the design file of every thinned region.
    faults : BodyFaults
        Takes what is found.
    """
    if blank.relief is None:
        return
    for i, key in enumerate(pocket_keys, 1):
        faults.add(
            Part(key, f"thinned region {i}"),
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
            Part("resonator", "thickness"),
            f"at least {MIN_WEB_M * 1e3:g} mm of metal to remain everywhere",
            f"{left_mm:.3f} mm at x = {x[least] * 1e3:.3f} mm",
            f"The stock is {blank.thickness_m * 1e3:g} mm thick: make the depths smaller.",
        )


def check_bends(blank: Blank, keys: Sequence[str], body: Polygon, faults: BodyFaults) -> None:
    """Tell bends that cannot be made, and what stands or holds on them.

    Parameters
    ----------
    blank : Blank
    keys : sequence of str
        Section of the design file of every bend.
    body : Polygon
        The sheet in plan. [m]
    faults : BodyFaults
        Takes what is found.
    """
    if not keys:
        return
    if blank.pockets or blank.relief is not None:
        part = Part(keys[0], "bend 1")
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
                Part(keys[0], f"tip mass {i}"),
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
            Part("support", "support"),
            "an elastic hold on the panel that stays in place alone",
            "one on a panel that is bent away too",
            "Hold that panel rigidly, or not at all.",
        )
