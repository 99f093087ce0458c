"""Read a drawing in the exchange format DXF. The door to the DXF library for reading.

Lines, arcs and circles keep their exact form; ellipses and splines become arcs within 1 µm (DXF
Reference, ENTITIES section: group code 42 for bulges, 210 for the extrusion direction; HEADER
variable $INSUNITS for the unit). The library's Python side is only partly typed: hence the
switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.biarcs import curve_to_arcs
from modewright.geometry.chaining import Trace

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from pathlib import Path

    from ezdxf.document import Drawing
    from ezdxf.entities.arc import Arc
    from ezdxf.entities.circle import Circle
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.entities.ellipse import Ellipse
    from ezdxf.entities.insert import Insert
    from ezdxf.entities.line import Line
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.entities.polyline import Polyline
    from ezdxf.entities.spline import Spline
    from ezdxf.math import Vec3
    from numpy.typing import NDArray

__all__ = ["DxfContent", "DxfItem", "read_dxf"]

_CURVE_TOLERANCE_M = 8e-7
_FAR_M = 1e3
# Smaller than the cut of any tool: what is left of a circle that was to be deleted.
_LEAST_CIRCLE_M = 2e-5
# Ends that differ by less in height are slips of the hand.
_LEAST_RISE_M = 1e-5
_WHOLE_TURN_BULGE = 1e6

# $INSUNITS: name and size in metres. A drawing without a unit is taken as millimetres, as is
# common practice of laser cutters.
_UNITS = {
    0: ("mm (the drawing names no unit)", 1e-3),
    1: ("inch", 0.0254),
    2: ("foot", 0.3048),
    4: ("mm", 1e-3),
    5: ("cm", 1e-2),
    6: ("m", 1.0),
    8: ("microinch", 0.0254e-6),
    9: ("mil", 0.0254e-3),
    13: ("µm", 1e-6),
    14: ("dm", 0.1),
}

# Words and dimensions that may share a layer with the shape without being part of it.
_ANNOTATIONS = frozenset(
    {
        "ARC_DIMENSION",
        "ATTDEF",
        "ATTRIB",
        "DIMENSION",
        "HATCH",
        "IMAGE",
        "LARGE_RADIAL_DIMENSION",
        "LEADER",
        "MTEXT",
        "MULTILEADER",
        "TEXT",
        "TOLERANCE",
        "VIEWPORT",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DxfItem:
    """One entity: either a curve or a point. Layer and kind are spelt as in the drawing. [m]"""

    layer: str
    kind: str
    trace: Trace | None = None
    point_m: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DxfContent:
    """What a drawing holds, blocks taken apart, in the order of the file.

    Parameters
    ----------
    unit_name : str
        Unit of the drawing, in words.
    is_unit_assumed : bool
        Whether the drawing names no unit.
    items : tuple of DxfItem
    unread : tuple of (str, str)
        Layer and kind of entities that are neither curves nor points.
    paper_count : int
        Number of entities on its sheets of paper, which are not read.
    """

    unit_name: str
    is_unit_assumed: bool
    items: tuple[DxfItem, ...]
    unread: tuple[tuple[str, str], ...]
    paper_count: int

    @property
    def shapeless(self) -> tuple[tuple[str, str], ...]:
        """Those of `unread` that are not words or dimensions, and might be meant as a shape."""
        return tuple(found for found in self.unread if found[1] not in _ANNOTATIONS)


def read_dxf(path: Path) -> DxfContent:
    """Read the model space of a drawing.

    Parameters
    ----------
    path : Path

    Returns
    -------
    DxfContent

    Raises
    ------
    GeometryError
        If the file is missing, damaged, or in a unit that is not a length of the trade.
    """
    document = _open(path)
    unit_name, scale = _unit(document, path)
    items: list[DxfItem] = []
    unread: list[tuple[str, str]] = []
    paper_count = 0
    try:
        with np.errstate(divide="raise", invalid="raise", over="raise"):
            for layer, entity in _entities(document.modelspace()):
                item = _item(layer, entity, scale)
                if item is not None:
                    items.append(item)
                else:
                    unread.append((layer, entity.dxftype()))
            paper_count = _paper_count(document)
    except _Unfit as error:
        raise GeometryError(f"{path}: expected {error}.", hint=error.hint) from error
    # Values of a damaged entity surface only here.
    except _troubles() as error:
        raise _damaged(path, error) from error
    return DxfContent(
        unit_name=unit_name,
        is_unit_assumed=document.header.get("$INSUNITS", 0) == 0,
        items=tuple(items),
        unread=tuple(unread),
        paper_count=paper_count,
    )


def _paper_count(document: Drawing) -> int:
    sheets = [sheet for sheet in document.layouts if not sheet.is_modelspace]
    return sum(entity.dxftype() != "VIEWPORT" for sheet in sheets for entity in sheet)


def _open(path: Path) -> Drawing:
    # Loading the library takes longer than reading most drawings; few designs need it.
    from ezdxf.filemanagement import readfile

    if not path.is_file():
        raise GeometryError(
            f"{path}: expected a DXF drawing, got no such file.",
            hint="The path counts from the folder of the design file.",
        )
    try:
        return readfile(path)
    except _troubles() as error:
        raise _damaged(path, error) from error


def _troubles() -> tuple[type[Exception], ...]:
    """What reading a damaged file can raise: the library lets what it trips over escape."""
    from ezdxf.lldxf.const import DXFError

    return (
        DXFError,
        ArithmeticError,
        AssertionError,
        AttributeError,
        LookupError,
        OSError,
        RuntimeError,
        StopIteration,
        TypeError,
        ValueError,
        struct.error,
    )


def _damaged(path: Path, error: Exception) -> GeometryError:
    reason = " ".join(str(error).split())[:200] or type(error).__name__
    return GeometryError(
        f"{path}: expected a readable DXF drawing, got a damaged one ({reason}).",
        hint="Export it again, as DXF R12 to R2018.",
    )


def _unit(document: Drawing, path: Path) -> tuple[str, float]:
    code = document.header.get("$INSUNITS", 0)
    if code not in _UNITS:
        known = ", ".join(f"{number} ({name})" for number, (name, _) in _UNITS.items() if number)
        raise GeometryError(
            f"{path}: expected $INSUNITS one of {known}, got {code}.",
            hint="Export the drawing in millimetres.",
        )
    return _UNITS[code]


def _entities(
    source: Iterable[DXFEntity], within: tuple[str, ...] = ()
) -> Iterator[tuple[str, DXFEntity]]:
    """Every entity with its layer, blocks taken apart; `within` names the blocks on the way."""
    for entity in source:
        layer = str(entity.dxf.get("layer", "0"))
        if entity.dxftype() != "INSERT":
            yield layer, entity
            continue
        insert = cast("Insert", entity)
        if insert.block() is None:
            # Its block is missing from the file: nothing to take apart.
            yield layer, entity
            continue
        name = str(insert.dxf.name).upper()
        if name in within:
            raise ValueError(f"the block {insert.dxf.name}, which contains itself")
        singles = insert.multi_insert() if insert.mcount > 1 else [insert]
        for single in singles:
            for inner_layer, inner in _entities(single.virtual_entities(), (*within, name)):
                # By the rules of the format, layer 0 of a block takes the layer of its insert.
                yield (layer if inner_layer == "0" else inner_layer), inner


def _item(layer: str, entity: DXFEntity, scale: float) -> DxfItem | None:
    kind = entity.dxftype()
    if kind == "POINT":
        x, y, _ = entity.dxf.location
        _check_reach(kind, layer, np.array([[x, y]], dtype=float) * scale)
        return DxfItem(layer=layer, kind=kind, point_m=(x * scale, y * scale))
    if kind not in _READERS:
        return None
    found = _READERS[kind](entity, scale)
    if found is None:
        return None
    vertices, bulge, is_closed = found
    points = np.asarray(vertices, dtype=float).reshape(-1, 2) * scale
    values = np.asarray(bulge, dtype=float)
    _check_reach(kind, layer, points)
    # Comparisons with what is not a number are false too.
    if len(points) == 0 or not (np.abs(values) <= _WHOLE_TURN_BULGE).all():
        raise ValueError(f"a {kind} on layer {layer} without points, or with bulges beyond a turn")
    if kind == "CIRCLE" and np.ptp(points, axis=0).max() < _LEAST_CIRCLE_M:
        raise _Unfit(
            f"a circle at least {_LEAST_CIRCLE_M * 1e6:g} µm across, got one of "
            f"{np.ptp(points, axis=0).max() * 1e6:.3g} µm on layer {layer}",
            "Leave it out, or draw a POINT if it marks a place.",
        )
    return DxfItem(
        layer=layer,
        kind=kind,
        trace=Trace(vertices_m=points, bulge=values, is_closed=is_closed),
    )


class _Unfit(Exception):  # noqa: N818 - carried to the caller, who knows the file
    """What a sound drawing holds that no body can have, and what to do about it."""

    def __init__(self, text: str, hint: str) -> None:
        super().__init__(text)
        self.hint = hint


def _check_reach(kind: str, layer: str, points: NDArray[np.float64]) -> None:
    """Tell places that lie too far out for numbers to be exact."""
    farthest_m = float(np.abs(points).max(initial=0.0))
    if not farthest_m <= _FAR_M:
        raise _Unfit(
            f"curves within {_FAR_M:g} m of the origin, got a {kind} on layer {layer} that reaches "
            f"{farthest_m:.4g} m",
            "Move the drawing to the origin, and check its unit.",
        )


_Run = tuple["NDArray[np.float64] | list[tuple[float, float]]", "object", bool]


def _check_flat(entity: DXFEntity, heights: Iterable[float], scale: float) -> None:
    """Tell a curve in space: seen from above it would be another one."""
    found = np.fromiter(heights, dtype=float)
    rise_m = float(np.ptp(found)) * scale if len(found) else 0.0
    if rise_m > _LEAST_RISE_M:
        raise _Unfit(
            f"curves that lie flat in the drawing plane, got a {entity.dxftype()} on layer "
            f"{entity.dxf.get('layer', '0')} that rises by {rise_m * 1e3:.3f} mm",
            "Draw the flat pattern; bends are features of the design file.",
        )


def _line(entity: DXFEntity, scale: float) -> _Run:
    line = cast("Line", entity)
    start, end = line.dxf.start, line.dxf.end
    _check_flat(entity, (start.z, end.z), scale)
    return [(start.x, start.y), (end.x, end.y)], [0.0], False


def _arc(entity: DXFEntity, _scale: float) -> _Run:
    arc = cast("Arc", entity)
    start, end = math.radians(arc.dxf.start_angle), math.radians(arc.dxf.end_angle)
    angle = (end - start) % (2 * math.pi) or 2 * math.pi
    # Two pieces, so that an arc of almost a whole turn keeps a finite bulge.
    turns = start + angle * np.array([0.0, 0.5, 1.0])
    points = _circle_points(arc, turns)
    return _seen_from_above(arc, points, np.full(2, math.tan(angle / 8)), is_closed=False)


def _circle(entity: DXFEntity, _scale: float) -> _Run:
    circle = cast("Circle", entity)
    points = _circle_points(circle, np.array([0.0, math.pi]))
    return _seen_from_above(circle, points, np.ones(2), is_closed=True)


def _circle_points(entity: Circle, turns: NDArray[np.float64]) -> NDArray[np.float64]:
    centre, radius = entity.dxf.center, abs(entity.dxf.radius)
    unit = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    return np.array([centre.x, centre.y]) + radius * unit


def _lwpolyline(entity: DXFEntity, _scale: float) -> _Run:
    polyline = cast("LWPolyline", entity)
    rows = np.array(polyline.get_points("xyb"), dtype=float).reshape(-1, 3)
    is_closed = bool(polyline.closed)
    bulge = rows[:, 2] if is_closed else rows[:-1, 2]
    return _seen_from_above(polyline, rows[:, :2], bulge, is_closed=is_closed)


def _polyline(entity: DXFEntity, scale: float) -> _Run | None:
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
) -> _Run:
    """Undo the mirror image in which an entity with downward extrusion is stored."""
    tilt: Vec3 | tuple[float, float, float] = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    x, y, z = (float(v) for v in tilt)
    if max(abs(x), abs(y)) > 1e-6 * abs(z):
        raise ValueError(f"a {entity.dxftype()} that does not lie flat in the drawing plane")
    if z > 0:
        return points, bulge, is_closed
    return points * np.array([-1.0, 1.0]), -bulge, is_closed


def _ellipse(entity: DXFEntity, scale: float) -> _Run:
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


def _spline(entity: DXFEntity, scale: float) -> _Run:
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


_READERS: dict[str, Callable[[DXFEntity, float], _Run | None]] = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}
