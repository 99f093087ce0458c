"""The drawing of a blank for the metal worker: contour, dimensions, list of features, title."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LinearRing, LineString, Polygon, box

from modewright.fabrication.bend_marks import bend_lines
from modewright.fabrication.dimensions import dimensions, extension_lines
from modewright.fabrication.drawing import Contour, Drawing, Line, Note, part_layer
from modewright.fabrication.feature_list import feature_list
from modewright.fabrication.hatching import edge_hatching, hatching
from modewright.fabrication.label_places import LabelPlaces
from modewright.fabrication.title_block import layer_words, text_under
from modewright.geometry.corners import circle
from modewright.geometry.flatten import flatten
from modewright.geometry.measures import bounding_box_m

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from modewright.fabrication.drawing import Measure, PointMm
    from modewright.fabrication.feature_list import Feature, NamedLoop
    from modewright.geometry.blank import Blank, NamedPoint
    from modewright.geometry.loop import Loop

__all__ = ["draw_blank"]

# Sizes on paper. [mm]
_PAPER = (170.0, 150.0)
_BELOW = 6.0
_CROSS = 1.6
_HATCH = 1.5
_EDGE_HATCH = 2.5
_CLEAR = 5.0

_SCALES = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
_SAGITTA_M = 2e-6


def draw_blank(
    blank: Blank,
    *,
    title: str,
    facts: tuple[str, ...],
    plates: tuple[NamedLoop, ...] = (),
    drivers: tuple[NamedLoop, ...] = (),
    reference: NamedPoint | None = None,
) -> Drawing:
    """Draw a blank with its dimensions.

    Parameters
    ----------
    blank : Blank
    title : str
    facts : tuple of str
        Lines for the title block, such as the material; the thickness is added in front.
    plates, drivers : tuple of (str, Loop)
        Pickup plates and faces of drivers, on layers of their own.
    reference : NamedPoint or None
        Where modal mass and level are referred to.

    Returns
    -------
    Drawing
        In the axes of the design. Dimensions count from the datum, the lower left corner of the box
        round the contour.
    """
    low, high = (_pair(corner * 1e3) for corner in bounding_box_m(blank.outline.outer))
    scale = _scale(high[0] - low[0], high[1] - low[1])
    contours = _contours(blank, plates, drivers)
    features = feature_list(blank, low, plates=plates, drivers=drivers, reference=reference)
    measures = dimensions(blank.outline.outer, low, high, scale)
    marks = _marks(blank, low, reference, scale)
    labels = _labels(contours, marks, measures, features, low, scale)
    layers = [item.layer for item in (*contours, *marks)]
    lines, notes = text_under(
        [feature.text for feature in features],
        title,
        [
            f"thickness {blank.thickness_m * 1e3:g} mm",
            *facts,
            f"datum: lower left corner of the contour, at x {low[0] + 0.0:.6g}, "
            f"y {low[1] + 0.0:.6g} of the design",
            *layer_words([*layers, "DIMENSION", "NOTE"]),
        ],
        (low[0], min(m.at_mm for m in measures if m.axis == "x") - _BELOW / scale),
        scale,
    )
    return Drawing(
        title=title,
        scale=scale,
        contours=tuple(contours),
        lines=(*marks, *labels.leaders, *lines),
        measures=tuple(measures),
        notes=(_datum_note(low, scale), *labels.notes, *notes),
    )


def _datum_note(low: PointMm, scale: float) -> Note:
    """The word below and before the corner from which everything counts."""
    text = "datum"
    width = Note(place_mm=low, text=text).width_mm
    return Note(place_mm=(low[0] - (width + 1) / scale, low[1] - _CLEAR / scale), text=text)


def _pair(point: object) -> PointMm:
    x, y = np.asarray(point, dtype=float)
    return float(x), float(y)


def _scale(length_mm: float, width_mm: float) -> float:
    """Largest usual scale at which the contour fits on a sheet of paper."""
    fitting = [s for s in _SCALES if s * length_mm <= _PAPER[0] and s * width_mm <= _PAPER[1]]
    return fitting[0] if fitting else _SCALES[-1]


def _contours(
    blank: Blank, plates: tuple[NamedLoop, ...], drivers: tuple[NamedLoop, ...]
) -> list[Contour]:
    held = () if blank.hold is None else blank.hold.areas
    return [
        Contour(loop=blank.outline.outer, layer="OUTLINE"),
        *(Contour(loop=hole, layer="OUTLINE") for hole in blank.outline.holes),
        *(Contour(loop=pocket.loop, layer="POCKET") for pocket in blank.pockets),
        *(Contour(loop=area, layer="CLAMP") for area in held),
        *(
            Contour(loop=circle(mass.centre_m, 2 * mass.footprint_radius_m), layer="MASS")
            for mass in blank.masses
        ),
        *(Contour(loop=loop, layer=part_layer("ELECTRODE", name)) for name, loop in plates),
        *(Contour(loop=loop, layer=part_layer("DRIVER", name)) for name, loop in drivers),
    ]


def _polygon_mm(loop: Loop) -> Polygon:
    return Polygon(flatten(loop, _SAGITTA_M) * 1e3)


def _marks(blank: Blank, datum: PointMm, reference: NamedPoint | None, scale: float) -> list[Line]:
    """Held edges, hatching, lines of support, and crosses at datum and reference point."""
    lines: list[Line] = []
    if blank.hold is not None:
        holes = [flatten(hole, _SAGITTA_M) * 1e3 for hole in blank.outline.holes]
        body = Polygon(flatten(blank.outline.outer, _SAGITTA_M) * 1e3, holes)
        for first, last in (
            step for curve in blank.hold.edge_curves_m for step in itertools.pairwise(curve)
        ):
            start, end = _pair(first * 1e3), _pair(last * 1e3)
            lines.append(Line(start_mm=start, end_mm=end, layer="CLAMP", is_thick=True))
            lines += edge_hatching(
                start, end, body, depth_mm=_EDGE_HATCH / scale, spacing_mm=_HATCH / scale
            )
        for area in blank.hold.areas:
            for part in _parts(_polygon_mm(area).intersection(body)):
                lines += hatching(part, _HATCH / scale)
    for start, end in blank.rests_m:
        start_mm, end_mm = _pair(np.array(start) * 1e3), _pair(np.array(end) * 1e3)
        lines.append(Line(start_mm=start_mm, end_mm=end_mm, layer="REST"))
    lines += bend_lines(blank)
    lines += _cross(datum, scale)
    if reference is not None:
        lines += _cross(_pair(np.array(reference.point_m) * 1e3), scale)
    return lines


def _parts(area: BaseGeometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(area) if isinstance(part, Polygon)]


def _cross(place: PointMm, scale: float) -> list[Line]:
    x, y = place
    arm = _CROSS / scale
    return [
        Line(start_mm=(x - arm, y), end_mm=(x + arm, y), layer="NOTE"),
        Line(start_mm=(x, y - arm), end_mm=(x, y + arm), layer="NOTE"),
    ]


def _labels(
    contours: list[Contour],
    marks: list[Line],
    measures: list[Measure],
    features: list[Feature],
    low: PointMm,
    scale: float,
) -> LabelPlaces:
    """Labels of the datum and of every feature, clear of each other and of all lines."""
    ink: list[BaseGeometry] = [LinearRing(_polygon_mm(c.loop).exterior) for c in contours]
    ink += [LineString([line.start_mm, line.end_mm]) for line in marks]
    ink += [LineString(line) for m in measures for line in extension_lines(m)]
    far = 1e4 / scale
    x, y = low[0] - _CLEAR / scale, low[1] - _CLEAR / scale
    dimensioned = [box(x - far, y - far, x, y + far), box(x - far, y - far, x + far, y)]
    labels = LabelPlaces(scale=scale, ink=ink, taken=dimensioned)
    for feature in features:
        if feature.label:
            labels.add(feature.label, feature.anchor_mm, feature.area_mm)
    return labels
