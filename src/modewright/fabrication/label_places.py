"""Room for labels: beside what they name, over no line and over no other label."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, box

from modewright.fabrication.drawing import TEXT_MM, Line, Note

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from modewright.fabrication.drawing import PointMm

__all__ = ["LabelPlaces"]

_CLEAR_MM = 1.0
_REACH_MM = 60.0
_STEP_MM = 2.5
_DIRECTIONS = 16
# A leader that ends this near to its label needs no line.
_BESIDE_MM = 1.0


@dataclass(slots=True, kw_only=True)
class LabelPlaces:
    """Labels placed so far, and what they must keep clear of.

    Parameters
    ----------
    scale : float
        Size on paper over true size.
    ink : sequence of shapes
        Lines of the drawing. [mm of the part]
    taken : sequence of Polygon
        Areas without room for labels. [mm of the part]
    """

    scale: float
    ink: Iterable[BaseGeometry]
    taken: Iterable[Polygon] = ()
    notes: list[Note] = field(default_factory=list[Note], init=False)
    leaders: list[Line] = field(default_factory=list[Line], init=False)
    _lines: BaseGeometry = field(init=False)
    _boxes: list[BaseGeometry] = field(init=False)
    _led: list[LineString] = field(default_factory=list[LineString], init=False)

    def __post_init__(self) -> None:
        self._lines = shapely.union_all(list(self.ink))
        self._boxes = list(self.taken)
        shapely.prepare(self._lines)

    def add(self, text: str, anchor_mm: PointMm, area: Polygon | None = None) -> None:
        """Place a label at its anchor if there is room, else near by with a line that leads there.

        Parameters
        ----------
        text : str
        anchor_mm : tuple of two floats
        area : Polygon or None
            What the label names: inside it no line is needed.

        Notes
        -----
        Without any room within 60 mm of paper it is placed at the anchor all the same.
        """
        note = Note(place_mm=anchor_mm, text=text)
        width, height = note.width_mm / self.scale, TEXT_MM / self.scale
        for x, y in self._candidates(anchor_mm, width, height):
            letters = box(x, y, x + width, y + height)
            is_inside = area is not None and area.contains(letters)
            leader = None if is_inside else self._leader(anchor_mm, (x, y), width, height)
            if self._is_clear(letters.buffer(_CLEAR_MM / self.scale), leader):
                break
        else:
            x, y = anchor_mm
            letters, leader = box(x, y, x + width, y + height), None
        self._boxes.append(letters.buffer(_CLEAR_MM / self.scale))
        self.notes.append(Note(place_mm=(x, y), text=text))
        if leader is not None:
            (x1, y1), (x2, y2) = leader.coords
            self.leaders.append(Line(start_mm=(x1, y1), end_mm=(x2, y2), layer="NOTE"))
            self._led.append(leader)

    def _candidates(self, anchor: PointMm, width: float, height: float) -> Iterator[PointMm]:
        yield anchor[0] - width / 2, anchor[1] - height / 2
        for reach in np.arange(_STEP_MM, _REACH_MM, _STEP_MM) / self.scale:
            for turn in range(_DIRECTIONS):
                # Upwards to the right first.
                angle = math.pi / 4 + 2 * math.pi * turn / _DIRECTIONS
                x = anchor[0] + reach * math.cos(angle) + width / 2 * (math.cos(angle) - 1)
                y = anchor[1] + reach * math.sin(angle) + height / 2 * (math.sin(angle) - 1)
                yield float(x), float(y)

    def _leader(
        self, anchor: PointMm, place: PointMm, width: float, height: float
    ) -> LineString | None:
        x = min(max(anchor[0], place[0]), place[0] + width)
        y = min(max(anchor[1], place[1]), place[1] + height)
        if math.hypot(x - anchor[0], y - anchor[1]) * self.scale <= _BESIDE_MM:
            return None
        return LineString([anchor, (x, y)])

    def _is_clear(self, area: BaseGeometry, leader: LineString | None) -> bool:
        # Lines that lead to one place may meet there; letters keep clear of everything.
        if self._lines.intersects(area) or any(led.intersects(area) for led in self._led):
            return False
        shapes = [area] if leader is None else [area, leader]
        return not any(taken.intersects(shape) for taken in self._boxes for shape in shapes)
