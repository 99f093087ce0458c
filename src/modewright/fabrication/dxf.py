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

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

    from modewright.fabrication.drawing import Drawing, Measure

__all__ = ["drawing_to_dxf"]

# Colours of the DXF index that differ in lightness as well as in hue.
_COLOURS = {
    "OUTLINE": 7, "CLAMP": 5, "POCKET": 4, "MASS": 6, "PICKUP": 30, "DRIVER": 34,
    "DIMENSION": 8, "NOTE": 8,
}  # fmt: skip


def drawing_to_dxf(drawing: Drawing) -> str:
    """Text of a DXF file (release R2010, millimetres).

    Parameters
    ----------
    drawing : Drawing

    Returns
    -------
    str
    """
    document = new("R2010", units=units.MM)
    document.header["$INSUNITS"] = units.MM
    for layer, colour in _COLOURS.items():
        document.layers.add(layer, color=colour)
    space = document.modelspace()
    for contour in drawing.contours:
        points = contour.loop.vertices_m * 1e3
        rows = [(x, y, b) for (x, y), b in zip(points.tolist(), contour.loop.bulge, strict=True)]
        space.add_lwpolyline(rows, format="xyb", close=True, dxfattribs={"layer": contour.layer})
    for line in drawing.lines:
        space.add_line(line.start_mm, line.end_mm, dxfattribs={"layer": line.layer})
    for measure in drawing.measures:
        _add_measure(space, measure)
    for note in drawing.notes:
        _add_text(space, note.text, note.place_mm, note.height_mm)
    low = min(m.at_mm for m in drawing.measures) if drawing.measures else 0.0
    for row, text in enumerate((drawing.title, *drawing.facts)):
        _add_text(space, text, (0.0, low - 10.0 - 4.5 * row), 2.5)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue()


def _add_measure(space: Modelspace, measure: Measure) -> None:
    along = measure.axis == "x"
    base = (measure.start_mm[0], measure.at_mm) if along else (measure.at_mm, measure.start_mm[1])
    dimension = space.add_linear_dim(
        base=base,
        p1=measure.start_mm,
        p2=measure.end_mm,
        angle=0 if along else 90,
        text=measure.text,
        override={"dimtxt": 2.5, "dimasz": 2.0},
        dxfattribs={"layer": "DIMENSION"},
    )
    dimension.render()


def _add_text(
    space: Modelspace, text: str, place_mm: tuple[float, float], height_mm: float
) -> None:
    entity = space.add_text(text, height=height_mm, dxfattribs={"layer": "NOTE"})
    entity.set_placement(place_mm)
