"""Whether everything that a design puts on the sheet lies on it, before anything is solved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import Point

from modewright.errors import DesignError, Problem
from modewright.geometry.build import blank_from_sketch
from modewright.losses.surface import SAGITTA_M
from modewright.modes.regions import sheet_polygon
from modewright.transducers.capacitive_pickup import placed_pickup
from modewright.transducers.coverage import covered_points

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from modewright.design.schema import Design
    from modewright.geometry.blank import Blank
    from modewright.geometry.sketch import Sketch

__all__ = ["check_places"]

_EDGE_TOLERANCE_M = 2e-5


def check_places(design: Design, folder: Path) -> None:
    """Build the blank and look where plates, drivers, strike and reference point lie.

    Parameters
    ----------
    design : Design
    folder : Path
        Folder of the design file.

    Raises
    ------
    GeometryError
        If the shape makes no body.
    TransducerError
        If a plate has no metal over it.
    DesignError
        With every place that lies off the sheet.
    """
    sketch = design.resonator.sketch(folder)
    blank = blank_from_sketch(sketch, design.features, design.support, design.stock.thickness_m)
    problems = [*_points_off_the_sheet(design, blank), *_unknown_reference(design, blank)]
    if problems:
        raise DesignError(problems)
    _check_plates(design, sketch, blank)


def _points_off_the_sheet(design: Design, blank: Blank) -> Iterator[Problem]:
    sheet = sheet_polygon(blank, SAGITTA_M)
    places = [(f"drivers[{i}].position", d.position_m) for i, d in enumerate(design.drivers, 1)]
    if design.strike.point_m is not None:
        places.append(("strike.point", design.strike.point_m))
    if design.reference_point.point_m is not None:
        places.append(("reference_point.point", design.reference_point.point_m))
    for key, (x, y) in places:
        away_m = sheet.distance(Point(x, y))
        if away_m > _EDGE_TOLERANCE_M:
            yield Problem(
                what=key,
                expected="a place on the sheet",
                got=f"({x * 1e3:.2f}, {y * 1e3:.2f}) mm, {away_m * 1e3:.2f} mm off it",
                hint="Move it onto the sheet.",
            )


def _unknown_reference(design: Design, blank: Blank) -> Iterator[Problem]:
    name = design.reference_point.name
    known = [named.name for named in blank.named_points]
    if name and name not in known:
        yield Problem(
            what="reference_point.name",
            expected="one of " + ", ".join(f'"{k}"' for k in known),
            got=f'"{name}"',
        )


def _check_plates(design: Design, sketch: Sketch, blank: Blank) -> None:
    sheet = sheet_polygon(blank, SAGITTA_M)
    for pickup in design.pickups:
        placed = placed_pickup(pickup, sketch.plates)
        covered_points(placed.name, placed.placed_plate, sheet)
