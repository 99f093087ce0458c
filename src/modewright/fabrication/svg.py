"""Write a drawing as SVG at true size, to be read and printed."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import numpy as np

from modewright.geometry.flatten import flatten

if TYPE_CHECKING:
    from modewright.fabrication.drawing import Drawing, Layer, Measure
    from modewright.geometry.loop import Loop

__all__ = ["drawing_to_svg"]

_MARGIN_MM = 8.0
_TEXT_MM = 2.6
_LINE_MM = 4.2
_BAR_MM = 10.0

# Dark to light and solid to dashed, so that nothing hangs on hue alone.
_STYLES: dict[Layer, dict[str, str]] = {
    "OUTLINE": {"stroke": "#111111", "stroke-width": "0.35"},
    "CLAMP": {"stroke": "#0b5fa5", "stroke-width": "1.0"},
    "POCKET": {"stroke": "#555555", "stroke-width": "0.25", "stroke-dasharray": "1.5 0.8"},
    "MASS": {"stroke": "#555555", "stroke-width": "0.25"},
    "PICKUP": {"stroke": "#b35900", "stroke-width": "0.3", "stroke-dasharray": "2 0.7 0.4 0.7"},
    "DRIVER": {"stroke": "#b35900", "stroke-width": "0.3"},
    "DIMENSION": {"stroke": "#666666", "stroke-width": "0.15"},
    "NOTE": {"stroke": "none", "fill": "#333333"},
}


def drawing_to_svg(drawing: Drawing) -> str:
    """Text of an SVG file whose user unit is one millimetre.

    Parameters
    ----------
    drawing : Drawing

    Returns
    -------
    str
    """
    low_x, low_y, high_x, high_y = _extent(drawing)
    words = (drawing.title, *drawing.facts)
    longest = max(len(word) for word in words) * 0.55 * _TEXT_MM
    width = max(high_x - low_x, longest) + 2 * _MARGIN_MM
    height = high_y - low_y + 3 * _MARGIN_MM + _LINE_MM * (len(words) + 1)
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
    turn = {"transform": f"translate({_MARGIN_MM - low_x:.3f} {_MARGIN_MM + high_y:.3f})"}
    body = ET.SubElement(root, "g", turn)
    for contour in drawing.contours:
        style = {"fill": "none", **_STYLES[contour.layer]}
        ET.SubElement(body, "path", {"d": _path(contour.loop), **style})
    for line in drawing.lines:
        _line(body, line.start_mm, line.end_mm, line.layer)
    for measure in drawing.measures:
        _measure(body, measure)
    for note in drawing.notes:
        _text(body, note.text, note.place_mm, note.height_mm)
    _title_block(root, words, height)
    ET.indent(root)
    return ET.tostring(root, encoding="unicode", xml_declaration=True) + "\n"


def _extent(drawing: Drawing) -> tuple[float, float, float, float]:
    points = [flatten(c.loop, 1e-5) * 1e3 for c in drawing.contours]
    everything = np.concatenate(points)
    (low_x, low_y), (high_x, high_y) = everything.min(axis=0), everything.max(axis=0)
    for measure in drawing.measures:
        if measure.axis == "x":
            low_y = min(low_y, measure.at_mm - 2)
        else:
            low_x = min(low_x, measure.at_mm - 5)
    return float(low_x), float(low_y), float(high_x), float(high_y)


def _path(loop: Loop) -> str:
    points = loop.vertices_m * 1e3
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


def _line(
    parent: ET.Element, start: tuple[float, float], end: tuple[float, float], layer: Layer
) -> None:
    ends = {"x1": start[0], "y1": -start[1], "x2": end[0], "y2": -end[1]}
    ET.SubElement(parent, "line", {k: f"{v:.4f}" for k, v in ends.items()} | _STYLES[layer])


def _measure(parent: ET.Element, measure: Measure) -> None:
    (x1, y1), (x2, y2) = measure.start_mm, measure.end_mm
    if measure.axis == "x":
        first, second = (x1, measure.at_mm), (x2, measure.at_mm)
        middle = ((x1 + x2) / 2, measure.at_mm + 0.8)
    else:
        first, second = (measure.at_mm, y1), (measure.at_mm, y2)
        middle = (measure.at_mm - 0.8, (y1 + y2) / 2)
    _line(parent, (x1, y1), first, "DIMENSION")
    _line(parent, (x2, y2), second, "DIMENSION")
    _line(parent, first, second, "DIMENSION")
    for end in (first, second):
        # Oblique ticks, as ISO 129-1 allows in place of arrows.
        tick = 0.9
        low, high = (end[0] - tick, end[1] - tick), (end[0] + tick, end[1] + tick)
        _line(parent, low, high, "DIMENSION")
    turn = "" if measure.axis == "x" else f"rotate(-90 {middle[0]:.3f} {-middle[1]:.3f})"
    _text(parent, measure.text, middle, _TEXT_MM, anchor="middle", transform=turn)


def _text(
    parent: ET.Element,
    text: str,
    place: tuple[float, float],
    height: float,
    anchor: str = "start",
    transform: str = "",
) -> None:
    attributes = {
        "x": f"{place[0]:.3f}",
        "y": f"{-place[1]:.3f}",
        "font-size": f"{height:.2f}",
        "text-anchor": anchor,
        **_STYLES["NOTE"],
    }
    if transform:
        attributes["transform"] = transform
    ET.SubElement(parent, "text", attributes).text = text


def _title_block(root: ET.Element, words: tuple[str, ...], height: float) -> None:
    top = height - _MARGIN_MM - _LINE_MM * len(words)
    bar = {"x1": f"{_MARGIN_MM}", "x2": f"{_MARGIN_MM + _BAR_MM}"}
    level = {"y1": f"{top - 3:.3f}", "y2": f"{top - 3:.3f}"}
    ET.SubElement(root, "line", bar | level | {"stroke": "#111111", "stroke-width": "0.6"})
    place = (_MARGIN_MM + _BAR_MM + 1.5, -(top - 2))
    _text(root, "10 mm: measure it on the print", place, _TEXT_MM)
    for row, word in enumerate(words):
        size = _TEXT_MM * (1.25 if row == 0 else 1.0)
        _text(root, word, (_MARGIN_MM, -(top + 2 + _LINE_MM * row)), size)
