"""What a design lacks for pickup, driver or loop, with a section to paste that would do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import Point

from modewright.geometry.planar import nearest_places_m, outline_polygon

if TYPE_CHECKING:
    from modewright.design.schema import Design
    from modewright.geometry.blank import Blank

__all__ = [
    "_driver_section",
    "_loop_section",
    "_pickup_section",
    "missing_for_loop",
    "missing_sections",
]

# Diameters to try for a plate and a coil, the largest that fits being taken. [mm]
_DIAMETERS_MM = (8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.5)


def missing_sections(design: Design, blank: Blank) -> dict[str, str]:
    """Section to add for each thing that the design lacks.

    Parameters
    ----------
    design : Design
    blank : Blank
        Of that design; the sections suit it.

    Returns
    -------
    dict of str to str
        Of ``pickup``, ``driver`` and ``treated mode``, those that are missing, each with lines to
        paste into the design file.
    """
    found: dict[str, str] = {}
    if not design.pickups:
        found["pickup"] = _pickup_section(blank)
    if not design.drivers:
        found["driver"] = _driver_section(blank)
    if not design.loop.modes:
        found["treated mode"] = _loop_section()
    return found


def missing_for_loop(design: Design, blank: Blank) -> tuple[str, str] | None:
    """Say what a loop needs and the design has not; None if nothing is missing.

    Returns
    -------
    tuple of (str, str) or None
        What is missing, such as ``a pickup and a driver``, and the sections to add.
    """
    missing = missing_sections(design, blank)
    parts = [part for part in ("pickup", "driver") if part in missing]
    if not parts:
        return None
    return " and ".join(f"a {part}" for part in parts), "\n".join(missing.values())


def _pickup_section(blank: Blank) -> str:
    """A pickup under the place nearest to the first named point where its plate fits."""
    (x_mm, y_mm), diameter_mm = _spot_mm(blank)
    return (
        '[[pickups]]\nkind = "capacitive"\ngap = "0.5 mm"\nbias = "100 V"\n\n'
        f'[pickups.plate]\nkind = "disc"\ncentre = ["{x_mm:g} mm", "{y_mm:g} mm"]\n'
        f'diameter = "{diameter_mm:g} mm"\n'
    )


def _driver_section(blank: Blank) -> str:
    """A small coil above the same place, which works on any metal."""
    (x_mm, y_mm), diameter_mm = _spot_mm(blank)
    return (
        '[[drivers]]\nkind = "moving coil"\n'
        f'position = ["{x_mm:g} mm", "{y_mm:g} mm"]\ndiameter = "{diameter_mm:g} mm"\n'
        'mass = "0.1 g"\n'
    )


def _loop_section() -> str:
    """The lowest mode, held."""
    return '[[loop.modes]]\nmode = 1\nstate = "held"\nlevel = "20 um"\n'


def _spot_mm(blank: Blank) -> tuple[tuple[float, float], float]:
    """Place in whole tenths near the first named point, and a diameter that fits on the sheet."""
    sheet = outline_polygon(blank.outline)
    wanted = Point(blank.named_points[0].point_m)
    for diameter_mm in _DIAMETERS_MM:
        # A tenth more than the radius leaves room for rounding the place.
        room = sheet.buffer(-(diameter_mm / 2 + 0.1) * 1e-3)
        if not room.is_empty:
            x, y = nearest_places_m(room, wanted)[0]
            place = (round(x * 1e3, 1) + 0.0, round(y * 1e3, 1) + 0.0)
            return place, diameter_mm
    x, y = sheet.representative_point().coords[0]
    return (x * 1e3, y * 1e3), _DIAMETERS_MM[-1]
