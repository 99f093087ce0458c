"""Read a drawing in the exchange format DXF. A door to the DXF library.

The unit stands in the HEADER variable $INSUNITS (DXF Reference); curves: `dxf_curves`. The
library's Python side is only partly typed: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.chaining import Trace
from modewright.geometry.dxf_curves import CURVE_READERS, UnfitDrawingError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.entities.insert import Insert
    from numpy.typing import NDArray

__all__ = ["DxfContent", "DxfItem", "read_dxf"]

_FAR_M = 1e3
# Smaller than the cut of any tool: what is left of a circle that was to be deleted.
_LEAST_CIRCLE_M = 2e-5
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
    except UnfitDrawingError as error:
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
    if kind not in CURVE_READERS:
        return None
    found = CURVE_READERS[kind](entity, scale)
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
        raise UnfitDrawingError(
            f"a circle at least {_LEAST_CIRCLE_M * 1e6:g} µm across, got one of "
            f"{np.ptp(points, axis=0).max() * 1e6:.3g} µm on layer {layer}",
            "Leave it out, or draw a POINT if it marks a place.",
        )
    return DxfItem(
        layer=layer,
        kind=kind,
        trace=Trace(vertices_m=points, bulge=values, is_closed=is_closed),
    )


def _check_reach(kind: str, layer: str, points: NDArray[np.float64]) -> None:
    """Tell places that lie too far out for numbers to be exact."""
    farthest_m = float(np.abs(points).max(initial=0.0))
    if not farthest_m <= _FAR_M:
        raise UnfitDrawingError(
            f"curves within {_FAR_M:g} m of the origin, got a {kind} on layer {layer} that reaches "
            f"{farthest_m:.4g} m",
            "Move the drawing to the origin, and check its unit.",
        )
