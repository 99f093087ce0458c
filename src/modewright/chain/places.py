"""Put everything that a design names onto one blank, or tell every place that is wrong."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shapely import Point, Polygon

from modewright.chain.film_doubts import film_doubts
from modewright.chain.room import crowded_parts
from modewright.design.suggest import did_you_mean, listed
from modewright.errors import (
    BodyError,
    DesignError,
    GeometryError,
    LossError,
    ModeProblemsError,
    Problem,
    Remark,
    TransducerError,
)
from modewright.geometry.build import blank_from_sketch
from modewright.geometry.part_checks import face_fault, footprint_fault
from modewright.geometry.places import place_mm
from modewright.geometry.planar import loop_polygon, nearest_places_m, outline_polygon
from modewright.transducers.breakdown import breakdown_v
from modewright.transducers.capacitive_pickup import placed_pickup
from modewright.transducers.coverage import covered_points
from modewright.transducers.driver import attached_masses, named_spot
from modewright.transducers.driver_area import disc_note
from modewright.transducers.gap import tilted_gap_m
from modewright.transducers.plate import DrawnPlate

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator
    from pathlib import Path

    from modewright.design.load import LoadedDesign
    from modewright.design.schema import Design
    from modewright.geometry.blank import Blank
    from modewright.geometry.sketch import Sketch
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.registry import AnyDriver

__all__ = ["PlacedDesign", "check_places", "located_faults", "place_design"]

_EDGE_TOLERANCE_M = 2e-5
_FAR_M = 1.0

Fault = Problem | Remark


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedDesign:
    """A design whose parts all have places on one blank.

    Parameters
    ----------
    design : Design
        Pickups and drivers that name a place of a drawing stand there.
    blank : Blank
        With the masses that drivers add to it.
    remarks : tuple of Remark
        What the reader of the design should know of its drawing.
    """

    design: Design
    blank: Blank
    remarks: tuple[Remark, ...] = ()


def check_places(loaded: LoadedDesign) -> PlacedDesign:
    """Put the parts of a design file in their places.

    Parameters
    ----------
    loaded : LoadedDesign

    Returns
    -------
    PlacedDesign

    Raises
    ------
    DesignError
        With every part that does not fit, its file and line.
    """
    with located_faults(loaded):
        placed = place_design(loaded.design, loaded.folder)
    return replace(placed, remarks=tuple(loaded.located(remark) for remark in placed.remarks))


@contextmanager
def located_faults(loaded: LoadedDesign) -> Generator[None]:
    """Give faults of the design that come up, whatever finds them, their file and line."""
    try:
        yield
    except DesignError as error:
        problems = [
            problem if problem.file else loaded.located(problem) for problem in error.problems
        ]
        # As what it is: a front end may go on without a piece, not without a design.
        raise type(error)(problems) from error
    except (BodyError, ModeProblemsError) as error:
        problems = [loaded.located(problem) for problem in error.problems]
        raise DesignError(sorted(problems, key=lambda problem: problem.line)) from error
    except LossError as error:
        text = str(error).removeprefix("losses: ")
        raise DesignError([loaded.located(Remark(key="losses", text=text))]) from error
    except TransducerError as error:
        if not error.key:
            raise
        raise DesignError([loaded.located(Remark(key=error.key, text=str(error)))]) from error


def place_design(design: Design, folder: Path) -> PlacedDesign:
    """Put the parts of a design in their places.

    Parameters
    ----------
    design : Design
    folder : Path
        Folder of the design file, from which drawings are named.

    Returns
    -------
    PlacedDesign

    Raises
    ------
    BodyError
        With every part that does not fit and the key of the file at which it stands.
    """
    try:
        sketch = design.resonator.sketch(folder)
    except GeometryError as error:
        raise BodyError([Remark(key="resonator", text=str(error))]) from error
    faults: list[Fault] = []
    blank = _blank(design, sketch, faults)
    sheet = outline_polygon(sketch.outline if blank is None else blank.outline)
    if not sheet.is_valid:
        raise BodyError(faults)
    pickups = tuple(
        _placed_pickup(f"pickups[{number}].plate", pickup, sketch, sheet, faults)
        for number, pickup in enumerate(design.pickups, 1)
    )
    drivers = tuple(
        _placed_driver(f"drivers[{number}]", driver, sketch, sheet, faults)
        for number, driver in enumerate(design.drivers, 1)
    )
    discs = tuple(_discs_for_areas(design, drivers, sketch))
    faults += _points_off_the_sheet(design, sheet)
    if blank is not None:
        faults += _unknown_reference(design, blank)
        faults += _steps_under_plates(pickups, blank)
    design = replace(design, pickups=pickups, drivers=drivers)
    if blank is not None and not faults:
        faults += crowded_parts(design, blank.masses)
    if blank is None or faults:
        raise BodyError(faults)
    notes = [Remark(key="resonator.file", text=note) for note in sketch.notes]
    return PlacedDesign(
        design=design,
        blank=blank.with_masses(attached_masses(drivers)),
        remarks=(*notes, *discs, *_sparks(pickups), *film_doubts(pickups)),
    )


def _sparks(pickups: tuple[CapacitivePickup, ...]) -> Iterator[Remark]:
    """Tell of bias that the air in the gap does not hold."""
    for number, pickup in enumerate(pickups, 1):
        area = pickup.placed_plate.area_points()
        tilt = (pickup.tilt_x, pickup.tilt_y)
        narrowest_m = float(tilted_gap_m(area, pickup.gap_m, tilt, area.centroid_m).min())
        sparks_v = breakdown_v(max(narrowest_m, 0.0))
        if pickup.bias_v >= sparks_v:
            yield Remark(
                key=f"pickups[{number}].bias",
                text=f"{pickup.name}: air in a gap of {narrowest_m * 1e3:.3g} mm sparks from about "
                f"{sparks_v:.0f} V. Lower the bias or widen the gap.",
            )


def _blank(design: Design, sketch: Sketch, faults: list[Fault]) -> Blank | None:
    try:
        return blank_from_sketch(sketch, design.features, design.support, design.stock.thickness_m)
    except BodyError as error:
        faults += error.problems
        return None


def _placed_pickup(
    key: str, pickup: CapacitivePickup, sketch: Sketch, sheet: Polygon, faults: list[Fault]
) -> CapacitivePickup:
    try:
        placed = placed_pickup(pickup, sketch.plates, sketch.named_points)
        covered_points(placed.name, placed.placed_plate, sheet)
    except TransducerError as error:
        faults.append(Remark(key=key, text=str(error)))
        return pickup
    return placed


def _placed_driver(
    key: str,
    driver: AnyDriver,
    sketch: Sketch,
    sheet: Polygon,
    faults: list[Fault],
) -> AnyDriver:
    placed = driver
    if driver.at:
        spot = named_spot(driver.at, sketch.named_points, sketch.driver_areas)
        if spot is None:
            faults.append(_unknown_spot(f"{key}.at", driver.at, sketch))
            return driver
        placed = driver.placed(spot.moved(driver.offset_m))
    place_key = f"{key}.at" if driver.at else f"{key}.position"
    away = _away(place_key, placed.place_m, sheet)
    if away is not None:
        faults.append(away)
        return placed
    fault = footprint_fault(placed.place_m, placed.face_diameter_m / 2, sheet)
    fault = fault or face_fault(placed.face, sheet)
    if fault is not None:
        expected, got, hint = fault
        faults.append(
            Problem(key=place_key, what=placed.name, expected=expected, got=got, hint=hint)
        )
    return placed


def _discs_for_areas(
    design: Design, placed: tuple[AnyDriver, ...], sketch: Sketch
) -> Iterator[Remark]:
    """Tell of drawn areas that the disc of a driver is to stand for and does not well."""
    for number, (written, driver) in enumerate(zip(design.drivers, placed, strict=True), 1):
        spot = named_spot(written.at, (), sketch.driver_areas)
        if spot is None or driver.face_diameter_m != spot.diameter_m:
            continue
        area = next(area for area in sketch.driver_areas if area.name == written.at)
        note = disc_note(area)
        if note:
            yield Remark(key=f"drivers[{number}].at", text=f"{driver.name}: {note}")


def _unknown_spot(key: str, name: str, sketch: Sketch) -> Problem:
    known = [*(a.name for a in sketch.driver_areas), *(p.name for p in sketch.named_points)]
    return Problem(
        what=key,
        expected=f"a named place: {listed(known)}",
        got=f'"{name}"',
        hint=_layer_hint(name, known) or did_you_mean(name, known),
    )


def _layer_hint(name: str, known: list[str]) -> str:
    """Places of a drawing bear the whole names of their layers."""
    layer = f"DRIVER_{name}"
    return f'Did you mean the layer, "{layer}"?' if layer in known else ""


def _points_off_the_sheet(design: Design, sheet: Polygon) -> Iterator[Fault]:
    places = (
        ("strike.point", design.strike.point_m),
        ("reference_point.point", design.reference_point.point_m),
    )
    for key, place in places:
        away = None if place is None else _away(key, place, sheet)
        if away is not None:
            yield away


def _away(key: str, place_m: tuple[float, float], sheet: Polygon) -> Problem | None:
    """Fault of a place that is not on the sheet."""
    away_m = sheet.distance(Point(place_m))
    if away_m <= _EDGE_TOLERANCE_M:
        return None
    far = f"{away_m * 1e3:.2f} mm" if away_m < _FAR_M else f"{away_m:.3g} m"
    near = nearest_places_m(sheet, Point(place_m))[0]
    return Problem(
        what=key,
        expected="a place on the sheet",
        got=f"{place_mm(place_m)}, {far} off it",
        hint=f"The nearest place on it is {place_mm(near)}.",
    )


def _unknown_reference(design: Design, blank: Blank) -> Iterator[Fault]:
    name = design.reference_point.name
    known = [named.name for named in blank.named_points]
    if name and name not in known:
        yield Problem(
            what="reference_point.name",
            expected=listed(known),
            got=f'"{name}"',
            hint=did_you_mean(name, known),
        )


def _steps_under_plates(pickups: tuple[CapacitivePickup, ...], blank: Blank) -> Iterator[Fault]:
    """Refuse a plate across a step of the lower face, whose gap is not modelled."""
    pockets = [loop_polygon(p.loop) for p in blank.pockets if p.side == "bottom"]
    for number, pickup in enumerate(pickups, 1):
        plate = _polygon_of(pickup)
        if plate is not None and any(plate.intersection(area).area > 0 for area in pockets):
            yield Problem(
                key=f"pickups[{number}].plate",
                what=pickup.name,
                expected="a flat lower face over the plate",
                got="a region thinned from below",
                hint="Thin the sheet from the top there, or move the plate.",
            )


def _polygon_of(pickup: CapacitivePickup) -> Polygon | None:
    """The plate in plan; None if its drawing does not have it, which has been told."""
    return None if isinstance(pickup.plate, DrawnPlate) else loop_polygon(pickup.plate.loop)
