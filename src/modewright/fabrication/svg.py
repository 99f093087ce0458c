"""Write a drawing as SVG, to be read and printed. Its user unit is one millimetre of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np

from modewright.fabrication.dimensions import ARROW_MM, extension_lines
from modewright.fabrication.drawing import LETTER_WIDTH, TEXT_MM, layer_kind
from modewright.geometry.measures import bounding_box_m

if TYPE_CHECKING:
    from collections.abc import Iterator

    from modewright.fabrication.drawing import Drawing, Measure, PointMm
    from modewright.geometry.loop import Loop

__all__ = ["drawing_to_svg"]

_MARGIN_MM = 6.0
_THICK = {"stroke-width": "0.7"}

# Dark to light and solid to dashed, so that nothing hangs on hue alone.
_STYLES: dict[str, dict[str, str]] = {
    "OUTLINE": {"stroke": "#111111", "stroke-width": "0.4"},
    "BEND": {"stroke": "#1b6b3a", "stroke-width": "0.2", "stroke-dasharray": "4 0.8 0.8 0.8"},
    "CLAMP": {"stroke": "#0b5fa5", "stroke-width": "0.25"},
    "HATCH": {"stroke": "#0b5fa5", "stroke-width": "0.12"},
    "POCKET": {"stroke": "#555555", "stroke-width": "0.25", "stroke-dasharray": "1.5 0.8"},
    "REST": {"stroke": "#0b5fa5", "stroke-width": "0.25", "stroke-dasharray": "3 1"},
    "MASS": {"stroke": "#555555", "stroke-width": "0.25"},
    "ELECTRODE": {"stroke": "#b35900", "stroke-width": "0.3", "stroke-dasharray": "2 0.7 0.4 0.7"},
    "DRIVER": {"stroke": "#b35900", "stroke-width": "0.3"},
    "GUARD": {"stroke": "#0b5fa5", "stroke-width": "0.25"},
    "LEAD": {"stroke": "#b35900", "stroke-width": "0.15"},
    "PAD": {"stroke": "#555555", "stroke-width": "0.25"},
    "COUPON": {"stroke": "#1b6b3a", "stroke-width": "0.2"},
    "MASK": {"stroke": "#888888", "stroke-width": "0.12", "stroke-dasharray": "1 0.6"},
    "DRILL": {"stroke": "#111111", "stroke-width": "0.2"},
    "SHEET": {"stroke": "#888888", "stroke-width": "0.2", "stroke-dasharray": "4 1.5"},
    "DIMENSION": {"stroke": "#666666", "stroke-width": "0.15"},
    "NOTE": {"stroke": "#333333", "stroke-width": "0.15"},
}
_LETTERS = {"stroke": "none", "fill": "#222222"}


def drawing_to_svg(drawing: Drawing) -> str:
    """Text of an SVG file, as large as the drawing on paper.

    Parameters
    ----------
    drawing : Drawing

    Returns
    -------
    str
    """
    places = np.array(list(_places(drawing))) * drawing.scale
    low, high = places.min(axis=0), places.max(axis=0)
    width, height = high - low + 2 * _MARGIN_MM
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{width:.2f}mm",
            "height": f"{height:.2f}mm",
            "viewBox": f"0 0 {width:.3f} {height:.3f}",
            "font-family": "sans-serif",
        },
    )
    ET.SubElement(root, "title").text = drawing.title
    ET.SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": "#ffffff"})
    # The sheet's y axis points up, SVG's down.
    turn = {"transform": f"translate({_MARGIN_MM - low[0]:.3f} {_MARGIN_MM + high[1]:.3f})"}
    pen = _Pen(ET.SubElement(root, "g", turn), drawing.scale)
    for contour in drawing.contours:
        pen.path(contour.loop, contour.layer)
    for line in drawing.lines:
        pen.line(line.start_mm, line.end_mm, line.layer, _THICK if line.is_thick else {})
    for measure in drawing.measures:
        pen.measure(measure)
    for note in drawing.notes:
        pen.text(note.text, note.place_mm, note.height_mm)
    ET.indent(root)
    return ET.tostring(root, encoding="unicode", xml_declaration=True) + "\n"


def _places(drawing: Drawing) -> Iterator[PointMm]:
    """Places between which everything lies. [mm of the part]"""
    for contour in drawing.contours:
        for corner in bounding_box_m(contour.loop):
            yield float(corner[0]) * 1e3, float(corner[1]) * 1e3
    for line in drawing.lines:
        yield line.start_mm
        yield line.end_mm
    for note in drawing.notes:
        x, y = note.place_mm
        yield note.place_mm
        yield x + note.width_mm / drawing.scale, y + note.height_mm / drawing.scale
    for measure in drawing.measures:
        reach = LETTER_WIDTH * TEXT_MM * len(measure.text) + 3 * ARROW_MM
        for _, (x, y) in extension_lines(measure):
            yield x, y
        # Text beside a dimension line, and before its start where there is no room on it.
        x, y = measure.start_mm
        before, beside = reach * measure.is_tight / drawing.scale, 2 * TEXT_MM / drawing.scale
        if measure.axis == "x":
            yield x - before, measure.at_mm - beside
        else:
            yield measure.at_mm - beside, y - before


class _Pen:
    """Draws on an element, from millimetres of the part to millimetres of paper."""

    def __init__(self, parent: ET.Element, scale: float) -> None:
        self._parent = parent
        self._scale = scale

    def _at(self, place_mm: PointMm) -> tuple[float, float]:
        return place_mm[0] * self._scale, -place_mm[1] * self._scale

    def path(self, loop: Loop, layer: str) -> None:
        style = {"fill": "none", **_STYLES[layer_kind(layer)]}
        ET.SubElement(self._parent, "path", {"d": _path(loop, self._scale), **style})

    def line(self, start: PointMm, end: PointMm, layer: str, more: dict[str, str]) -> None:
        (x1, y1), (x2, y2) = self._at(start), self._at(end)
        ends = {"x1": x1, "y1": y1, "x2": x2, "y2": y2}
        style = _STYLES[layer_kind(layer)] | more
        ET.SubElement(self._parent, "line", {k: f"{v:.4f}" for k, v in ends.items()} | style)

    def text(self, text: str, place: PointMm, height_mm: float, **more: str) -> None:
        x, y = self._at(place)
        attributes = {"x": f"{x:.3f}", "y": f"{y:.3f}", "font-size": f"{height_mm * 1.35:.2f}"}
        attributes |= _LETTERS | {name.replace("_", "-"): value for name, value in more.items()}
        ET.SubElement(self._parent, "text", attributes).text = text

    def measure(self, measure: Measure) -> None:
        for start, end in extension_lines(measure):
            self.line(start, end, "DIMENSION", {})
        first, second = (end for _, end in extension_lines(measure))
        axis = 0 if measure.axis == "x" else 1
        # With arrows outside, the line goes on far enough to carry them and the text.
        out = 2 * ARROW_MM / self._scale if measure.is_tight else 0.0
        ends = [list(first), list(second)]
        ends[0][axis] -= out
        ends[1][axis] += out
        self.line((ends[0][0], ends[0][1]), (ends[1][0], ends[1][1]), "DIMENSION", {})
        for place, sense in ((first, 1), (second, -1)):
            self._arrow(place, axis, -sense if measure.is_tight else sense)
        lift = 0.7 / self._scale
        place = [(first[0] + second[0]) / 2, (first[1] + second[1]) / 2]
        place[1 - axis] += lift if axis == 0 else -lift
        if measure.is_tight:
            place[axis] = ends[0][axis]
        x, y = self._at((place[0], place[1]))
        turn = {} if axis == 0 else {"transform": f"rotate(-90 {x:.3f} {y:.3f})"}
        anchor = "end" if measure.is_tight else "middle"
        self.text(measure.text, (place[0], place[1]), TEXT_MM, text_anchor=anchor, **turn)

    def _arrow(self, place: PointMm, axis: int, sense: int) -> None:
        """Arrow head with its point here and its body in this sense of the axis."""
        x, y = self._at(place)
        along, half = ARROW_MM * sense, 0.16 * ARROW_MM
        if axis == 0:
            corners = [(x, y), (x + along, y - half), (x + along, y + half)]
        else:
            corners = [(x, y), (x - half, y - along), (x + half, y - along)]
        points = " ".join(f"{a:.3f},{b:.3f}" for a, b in corners)
        ET.SubElement(self._parent, "polygon", {"points": points, "fill": "#666666"})


def _path(loop: Loop, scale: float) -> str:
    points = loop.vertices_m * 1e3 * scale
    parts = [f"M {points[0][0]:.4f} {-points[0][1]:.4f}"]
    for start, end, bulge in zip(points, np.roll(points, -1, axis=0), loop.bulge, strict=True):
        if bulge == 0:
            parts.append(f"L {end[0]:.4f} {-end[1]:.4f}")
            continue
        chord = float(np.hypot(*(end - start)))
        radius = chord * (1 + bulge**2) / (4 * abs(bulge))
        large, sweep = int(abs(bulge) > 1), int(bulge < 0)
        parts.append(f"A {radius:.4f} {radius:.4f} 0 {large} {sweep} {end[0]:.4f} {-end[1]:.4f}")
    return " ".join([*parts, "Z"])
