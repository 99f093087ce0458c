"""From the sections of the design to one blank, with every fault of the shape found at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.errors import BodyError, GeometryError
from modewright.geometry.beam_nodes import bending_nodes_m
from modewright.geometry.blank import Blank, Outline
from modewright.geometry.body_faults import BodyFaults
from modewright.geometry.kind_checks import check_bends, check_relief, check_solid, check_thickness
from modewright.geometry.outline_checks import check_outline, points_on_sheet
from modewright.geometry.part_checks import check_hold, check_masses, check_pockets
from modewright.geometry.planar import outline_polygon
from modewright.geometry.support import Free, NodalSupports, Resting, SupportsAt

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from modewright.geometry.blank import Hold, RestLine
    from modewright.geometry.features.parts import Feature, FeatureParts
    from modewright.geometry.sketch import Family, Sketch
    from modewright.geometry.support import Support

__all__ = ["blank_from_sketch", "build_blank"]


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
    if isinstance(support, NodalSupports) and support.own_nodes:
        free = blank_from_sketch(sketch, features, Free(), thickness_m)
        support = SupportsAt(supports=support, stations_m=_own_nodes_m(free))
    faults = BodyFaults()
    parts = _feature_parts(features, sketch, faults)
    holes = [("resonator", hole) for hole in sketch.outline.holes]
    holes += [(key, hole) for key, part in parts for hole in part.holes]
    outline = Outline(outer=sketch.outline.outer, holes=tuple(hole for _, hole in holes))
    check_outline(outline, [key for key, _ in holes], faults)
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
        named_points=points_on_sheet(sketch, outline, faults),
        rests_m=_rests_m(support, sketch, faults),
    )
    body = outline_polygon(blank.outline)
    check_thickness(blank, faults)
    check_pockets(pockets, thickness_m, body, faults)
    check_solid(blank, [key for key, _ in parts], faults)
    check_relief(blank, [key for key, _ in pockets], faults)
    check_bends(blank, [key for key, _ in bends], body, faults)
    check_masses(masses, body, faults)
    check_hold(blank.hold, body, faults)
    faults.raise_if_any()
    return blank


def _own_nodes_m(free: Blank) -> tuple[float, float]:
    try:
        return bending_nodes_m(free)
    except GeometryError as error:
        faults = BodyFaults()
        faults.told("support", error)
        raise BodyError(faults.found) from error


def _feature_parts(
    features: Sequence[Feature], sketch: Sketch, faults: BodyFaults
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


def _hold(support: Support, sketch: Sketch, faults: BodyFaults) -> Hold | None:
    try:
        return support.hold(sketch)
    except GeometryError as error:
        faults.told("support", error)
        return None


def _rests_m(support: Support, sketch: Sketch, faults: BodyFaults) -> tuple[RestLine, ...]:
    if not isinstance(support, Resting):
        return ()
    try:
        return support.rests_m(sketch)
    except GeometryError as error:
        faults.told("support", error)
        return ()
