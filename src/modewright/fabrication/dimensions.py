"""Dimensions of a contour from its datum: every edge across, every round end, overall sizes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.fabrication.contour_features import highest, stops
from modewright.fabrication.drawing import LETTER_WIDTH, TEXT_MM, Measure

if TYPE_CHECKING:
    from modewright.fabrication.drawing import PointMm
    from modewright.geometry.loop import Loop

__all__ = ["ARROW_MM", "dimensions", "extension_lines"]

# Sizes on paper. [mm]
ARROW_MM = 2.0
_FIRST = {"x": 9.0, "y": 11.5}
_ROW = 6.0
_SAME_MM = 0.01
# A contour with more stops than this is a free form, which only the overall sizes describe.
_MOST = 12


def dimensions(outer: Loop, low: PointMm, high: PointMm, scale: float) -> list[Measure]:
    """Dimensions below and to the left of a contour, all from its lower left corner.

    Parameters
    ----------
    outer : Loop
    low, high : tuple of two floats
        Corners of the box round it. [mm]
    scale : float
        Size on paper over true size.

    Returns
    -------
    list of Measure
        The shortest nearest to the contour.
    """
    along = _row(outer, 0, low, high, scale)
    across = _row(outer, 1, low, high, scale)
    # Text that stands outside, before the datum, needs room between the two sets.
    room = {
        axis: max((_text_mm(m.text) for m in other if m.is_tight), default=0.0)
        for axis, other in ((0, across), (1, along))
    }
    return [*_spaced(along, low, scale, room[0]), *_spaced(across, low, scale, room[1])]


def _row(outer: Loop, axis: int, low: PointMm, high: PointMm, scale: float) -> list[Measure]:
    inner = [
        stop
        for stop in stops(outer, axis)
        if low[axis] + _SAME_MM < stop[0] < high[axis] - _SAME_MM
    ]
    if len(inner) > _MOST:
        inner = []
    ends = [*inner, highest(outer, axis)]
    found: list[Measure] = []
    for place, other in ends:
        length = place - low[axis]
        text = f"{length:.3f}"
        found.append(
            Measure(
                start_mm=low,
                end_mm=(place, other) if axis == 0 else (other, place),
                axis="x" if axis == 0 else "y",
                at_mm=0.0,
                text=text,
                is_tight=length * scale < _text_mm(text) + 2 * ARROW_MM + 1,
            )
        )
    return found


def _text_mm(text: str) -> float:
    return LETTER_WIDTH * TEXT_MM * len(text)


def _spaced(row: list[Measure], low: PointMm, scale: float, room_mm: float) -> list[Measure]:
    outside = room_mm + ARROW_MM if room_mm else 0.0
    return [
        Measure(
            start_mm=m.start_mm,
            end_mm=m.end_mm,
            axis=m.axis,
            at_mm=low[1 if m.axis == "x" else 0] - (_FIRST[m.axis] + outside + _ROW * i) / scale,
            text=m.text,
            is_tight=m.is_tight,
        )
        for i, m in enumerate(row)
    ]


def extension_lines(measure: Measure) -> list[tuple[PointMm, PointMm]]:
    """From the measured places to the ends of the dimension line. [mm]"""
    if measure.axis == "x":
        return [(p, (p[0], measure.at_mm)) for p in (measure.start_mm, measure.end_mm)]
    return [(p, (measure.at_mm, p[1])) for p in (measure.start_mm, measure.end_mm)]
