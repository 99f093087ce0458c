"""Curves of a drawing in the exchange format DXF as lines and arcs. A door to the DXF library.

Lines, arcs and circles keep their exact form; ellipses and splines become arcs within 1 µm (DXF
Reference, ENTITIES section: group code 42 for bulges, 210 for the extrusion direction). The
library's Python side is only partly typed: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeAlias, cast

import numpy as np

from modewright.geometry.biarcs import curve_to_arcs

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from ezdxf.entities.arc import Arc
    from ezdxf.entities.circle import Circle
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.entities.ellipse import Ellipse
    from ezdxf.entities.line import Line
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.entities.polyline import Polyline
    from ezdxf.entities.spline import Spline
    from ezdxf.math import Vec3
    from numpy.typing import NDArray

__all__ = ["CURVE_READERS", "Run", "UnfitDrawingError"]

_CURVE_TOLERANCE_M = 8e-7
# Ends that differ by less in height are slips of the hand.
_LEAST_RISE_M = 1e-5

Run: TypeAlias = "tuple[NDArray[np.float64] | list[tuple[float, float]], object, bool]"
"""Corners in units of the drawing, bulges, and whether the curve is closed."""


class UnfitDrawingError(Exception):
    """What a sound drawing holds that no body can have, and what to do about it."""

    def __init__(self, text: str, hint: str) -> None:
        super().__init__(text)
        self.hint = hint


def _check_flat(entity: DXFEntity, heights: Iterable[float], scale: float) -> None:
    """Tell a curve in space: seen from above it would be another one."""
    found = np.fromiter(heights, dtype=float)
    rise_m = float(np.ptp(found)) * scale if len(found) else 0.0
    if rise_m > _LEAST_RISE_M:
        raise UnfitDrawingError(
            f"curves that lie flat in the drawing plane, got a {entity.dxftype()} on layer "
            f"{entity.dxf.get('layer', '0')} that rises by {rise_m * 1e3:.3f} mm",
            "Draw the flat pattern; bends are features of the design file.",
        )


def _line(entity: DXFEntity, scale: float) -> Run:
    line = cast("Line", entity)
    start, end = line.dxf.start, line.dxf.end
    _check_flat(entity, (start.z, end.z), scale)
    return [(start.x, start.y), (end.x, end.y)], [0.0], False


def _arc(entity: DXFEntity, _scale: float) -> Run:
    arc = cast("Arc", entity)
    start, end = math.radians(arc.dxf.start_angle), math.radians(arc.dxf.end_angle)
    angle = (end - start) % (2 * math.pi) or 2 * math.pi
    # Two pieces, so that an arc of almost a whole turn keeps a finite bulge.
    turns = start + angle * np.array([0.0, 0.5, 1.0])
    points = _circle_points(arc, turns)
    return _seen_from_above(arc, points, np.full(2, math.tan(angle / 8)), is_closed=False)


def _circle(entity: DXFEntity, _scale: float) -> Run:
    circle = cast("Circle", entity)
    points = _circle_points(circle, np.array([0.0, math.pi]))
    return _seen_from_above(circle, points, np.ones(2), is_closed=True)


def _circle_points(entity: Circle, turns: NDArray[np.float64]) -> NDArray[np.float64]:
    centre, radius = entity.dxf.center, abs(entity.dxf.radius)
    unit = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    return np.array([centre.x, centre.y]) + radius * unit


def _lwpolyline(entity: DXFEntity, _scale: float) -> Run:
    polyline = cast("LWPolyline", entity)
    rows = np.array(polyline.get_points("xyb"), dtype=float).reshape(-1, 3)
    is_closed = bool(polyline.closed)
    bulge = rows[:, 2] if is_closed else rows[:-1, 2]
    return _seen_from_above(polyline, rows[:, :2], bulge, is_closed=is_closed)


def _polyline(entity: DXFEntity, scale: float) -> Run | None:
    polyline = cast("Polyline", entity)
    if not (polyline.is_2d_polyline or polyline.is_3d_polyline):
        return None
    # Control points of a fitted curve (flag 16) are not on it.
    vertices = [v for v in polyline.vertices if not v.dxf.get("flags", 0) & 16]
    rows = np.array(
        [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in vertices]
    ).reshape(-1, 3)
    is_closed = bool(polyline.is_closed)
    bulge = rows[:, 2] if is_closed else rows[:-1, 2]
    if polyline.is_3d_polyline:
        _check_flat(entity, (float(v.dxf.location.z) for v in vertices), scale)
        return rows[:, :2], bulge, is_closed
    return _seen_from_above(polyline, rows[:, :2], bulge, is_closed=is_closed)


def _seen_from_above(
    entity: DXFEntity, points: NDArray[np.float64], bulge: NDArray[np.float64], *, is_closed: bool
) -> Run:
    """Undo the mirror image in which an entity with downward extrusion is stored."""
    tilt: Vec3 | tuple[float, float, float] = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    x, y, z = (float(v) for v in tilt)
    if max(abs(x), abs(y)) > 1e-6 * abs(z):
        raise ValueError(f"a {entity.dxftype()} that does not lie flat in the drawing plane")
    if z > 0:
        return points, bulge, is_closed
    return points * np.array([-1.0, 1.0]), -bulge, is_closed


def _ellipse(entity: DXFEntity, scale: float) -> Run:
    ellipse = cast("Ellipse", entity)
    centre = np.array([ellipse.dxf.center.x, ellipse.dxf.center.y])
    major = np.array([ellipse.dxf.major_axis.x, ellipse.dxf.major_axis.y])
    minor = np.array([ellipse.minor_axis.x, ellipse.minor_axis.y])
    start, end = ellipse.dxf.start_param, ellipse.dxf.end_param
    span = (end - start) % (2 * math.pi) or 2 * math.pi

    def curve(u: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        cos, sin = math.cos(u), math.sin(u)
        return centre + cos * major + sin * minor, cos * minor - sin * major

    breaks = np.linspace(start, start + span, 9).tolist()
    vertices, bulge = curve_to_arcs(curve, breaks, _CURVE_TOLERANCE_M / scale)
    return vertices, bulge, False


def _spline(entity: DXFEntity, scale: float) -> Run:
    spline = cast("Spline", entity)
    given = np.array([*spline.control_points, *spline.fit_points], dtype=float).reshape(-1, 3)
    if len(given) == 0 or np.ptp(given, axis=0).max() == 0:
        layer = entity.dxf.get("layer", "0")
        raise ValueError(f"a SPLINE without length on layer {layer}")
    _check_flat(entity, given[:, 2], scale)
    tool = spline.construction_tool()

    def curve(u: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        at, along = tool.derivative(u, 1)
        return np.array([at.x, at.y]), np.array([along.x, along.y])

    knots = np.unique(np.array(tool.knots(), dtype=float))
    first, last = tool.knots()[tool.order - 1], tool.knots()[tool.count]
    breaks = knots[(knots >= first) & (knots <= last)].tolist()
    vertices, bulge = curve_to_arcs(curve, breaks, _CURVE_TOLERANCE_M / scale)
    return vertices, bulge, False


CURVE_READERS: dict[str, Callable[[DXFEntity, float], Run | None]] = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}
"""By the name of the entity; None where it has no curve that is read."""
