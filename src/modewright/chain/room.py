"""Whether plates, poles and what the sheet carries leave each other room."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from shapely import Point, unary_union

from modewright.errors import Problem
from modewright.geometry.planar import loop_polygon
from modewright.transducers.guard import outer_outline

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely.geometry.base import BaseGeometry

    from modewright.design.schema import Design
    from modewright.geometry.blank import AttachedMass
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.registry import AnyDriver

__all__ = ["crowded_parts"]

# Parts that share an edge may overlap by the flattening of a curve.
_LEAST_OVERLAP_M2 = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """Something on one side of the sheet.

    Parameters
    ----------
    key : str
        Of the design file.
    owner : str
        Name of what it belongs to.
    what : str
        Such as "the plate".
    is_above : bool
        On which side of the sheet it is.
    area : Polygon or MultiPolygon
        In plan. [m]
    gap_m : float or None
        Air under or over it if it stands still; None if the sheet carries it. [m]
    height_m : float
        Of what the sheet carries. [m]
    """

    key: str
    owner: str
    what: str
    is_above: bool
    area: BaseGeometry
    gap_m: float | None = None
    height_m: float = 0.0


def crowded_parts(design: Design, carried: tuple[AttachedMass, ...]) -> Iterator[Problem]:
    """Find parts that are in one place, or one in the gap of another.

    Parameters
    ----------
    design : Design
        With its parts in their places.
    carried : tuple of AttachedMass
        What the sheet carries besides its drivers' parts; a mass without height takes no room.

    Returns
    -------
    iterator of Problem
        One for each two owners.
    """
    found: set[tuple[str, str]] = set()
    for first, second in combinations(_parts(design, carried), 2):
        pair = first.key, second.key
        if pair in found or first.key == second.key or first.is_above != second.is_above:
            continue
        overlap_m2 = first.area.intersection(second.area).area
        if overlap_m2 > _LEAST_OVERLAP_M2:
            found.add(pair)
            yield _problem(first, second, overlap_m2)


def _problem(first: _Part, second: _Part, overlap_m2: float) -> Problem:
    side = "above" if first.is_above else "below"
    got = f'{second.what} across {first.what} of "{first.owner}" on {overlap_m2 * 1e6:.3g} mm²'
    for still, moving in ((first, second), (second, first)):
        if still.gap_m is not None and moving.gap_m is None:
            got += f", {moving.height_m * 1e3:.3g} mm tall in a gap of {still.gap_m * 1e3:.3g} mm"
    return Problem(
        key=second.key,
        what=second.owner,
        expected=f"a place {side} the sheet that nothing else takes",
        got=got,
        hint="Move one of them, or put one on the other side of the sheet.",
    )


def _parts(design: Design, carried: tuple[AttachedMass, ...]) -> list[_Part]:
    found = [
        _carried("features", "mass", "the mass", mass) for mass in carried if mass.height_m > 0
    ]
    for number, pickup in enumerate(design.pickups, 1):
        found.append(_plate(f"pickups[{number}].plate", pickup))
    for number, driver in enumerate(design.drivers, 1):
        key = f"drivers[{number}]"
        if driver.masses:
            found.append(_glued(key, driver))
        pole = driver.pole_face
        if pole is not None:
            face = Point(pole.centre_m).buffer(pole.pole_diameter_m / 2)
            found.append(
                _Part(
                    key=key,
                    owner=driver.name,
                    what="the pole",
                    is_above=pole.is_above,
                    area=face,
                    gap_m=pole.gap_m,
                )
            )
    return found


def _plate(key: str, pickup: CapacitivePickup) -> _Part:
    return _Part(
        key=key,
        owner=pickup.name,
        what="the plate" if pickup.guard is None else "the guarded plate",
        is_above=False,
        area=outer_outline(pickup.placed_plate, pickup.guard),
        gap_m=pickup.gap_m,
    )


def _glued(key: str, driver: AnyDriver) -> _Part:
    """All that a driver fixes to the sheet; discs may stand for the mass of a face of any form."""
    discs = [Point(mass.centre_m).buffer(mass.footprint_radius_m) for mass in driver.masses]
    return _Part(
        key=key,
        owner=driver.name,
        what="what it glues on",
        is_above=driver.masses[0].side == "top",
        area=unary_union([loop_polygon(driver.face), *discs]),
        height_m=max(2 * mass.height_m for mass in driver.masses),
    )


def _carried(key: str, owner: str, what: str, mass: AttachedMass) -> _Part:
    return _Part(
        key=key,
        owner=owner,
        what=what,
        is_above=mass.side == "top",
        area=Point(mass.centre_m).buffer(mass.footprint_radius_m),
        height_m=2 * mass.height_m,
    )
