"""Write a drawing as DXF, arcs kept as arcs. The door to the DXF library for writing.

The library's Python side is only partly typed: hence the switches below.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# pyright: reportUnknownArgumentType=false

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from ezdxf import units
from ezdxf.filemanagement import new

from modewright.fabrication.dimensions import ARROW_MM
from modewright.fabrication.drawing import LAYERS, LETTER_WIDTH, TEXT_MM, layer_kind

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

    from modewright.fabrication.drawing import Drawing, Measure

__all__ = ["drawing_to_dxf"]

# Colours of the DXF index that differ in lightness as well as in hue.
_COLOURS = {
    "OUTLINE": 7, "BEND": 3, "CLAMP": 5, "HATCH": 5, "POCKET": 4, "REST": 5, "MASS": 6,
    "ELECTRODE": 30, "DRIVER": 34, "DIMENSION": 8, "NOTE": 8,
    "GUARD": 5, "LEAD": 1, "PAD": 40, "COUPON": 94, "MASK": 8, "DRILL": 7, "SHEET": 9,
}  # fmt: skip
_THICK_LINE = 50


def drawing_to_dxf(drawing: Drawing) -> str:
    """Text of a DXF file (release R2010, millimetres, true size).

    Parameters
    ----------
    drawing : Drawing

    Returns
    -------
    str
        Layers that are not cut say so in their description.
    """
    document = new("R2010", units=units.MM)
    document.header["$INSUNITS"] = units.MM
    for name in _layers(drawing):
        layer = document.layers.add(name, color=_COLOURS[layer_kind(name)])
        layer.description = LAYERS[layer_kind(name)]
    space = document.modelspace()
    for contour in drawing.contours:
        points = contour.loop.vertices_m * 1e3
        rows = [(x, y, b) for (x, y), b in zip(points.tolist(), contour.loop.bulge, strict=True)]
        space.add_lwpolyline(rows, format="xyb", close=True, dxfattribs={"layer": contour.layer})
    for line in drawing.lines:
        weight = {"lineweight": _THICK_LINE} if line.is_thick else {}
        space.add_line(line.start_mm, line.end_mm, dxfattribs={"layer": line.layer, **weight})
    for measure in drawing.measures:
        _add_measure(space, measure, drawing.scale)
    for note in drawing.notes:
        height = note.height_mm / drawing.scale
        entity = space.add_text(_text(note.text), height=height, dxfattribs={"layer": "NOTE"})
        entity.set_placement(note.place_mm)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


def _text(text: str) -> str:
    # The sign of a diameter has a code of its own, which every typeface of the trade knows.
    return text.replace("Ø", "%%c")


def _layers(drawing: Drawing) -> list[str]:
    used = {item.layer for item in (*drawing.contours, *drawing.lines)}
    return sorted(used | {"DIMENSION", "NOTE"})


def _add_measure(space: Modelspace, measure: Measure, scale: float) -> None:
    along = measure.axis == "x"
    base = (measure.start_mm[0], measure.at_mm) if along else (measure.at_mm, measure.start_mm[1])
    place = None
    if measure.is_tight:
        # The middle of the text, before the start and a little beside the line.
        before = 2 * ARROW_MM + LETTER_WIDTH * TEXT_MM * len(measure.text) / 2
        beside = TEXT_MM
        shift = (-before, beside) if along else (-beside, -before)
        place = (base[0] + shift[0] / scale, base[1] + shift[1] / scale)
    dimension = space.add_linear_dim(
        base=base,
        p1=measure.start_mm,
        p2=measure.end_mm,
        location=place,
        angle=0 if along else 90,
        text=measure.text,
        override={"dimtxt": TEXT_MM / scale, "dimasz": ARROW_MM / scale, "dimgap": 0.6 / scale},
        dxfattribs={"layer": "DIMENSION"},
    )
    dimension.render()
