"""What a drawing is made of, whatever file it is written to. Lengths in millimetres.

Layers carry meaning and are those that the reader of drawn outlines understands: OUTLINE for the
cut contour, CLAMP for what is held; POCKET, MASS, DIMENSION and NOTE are for people.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from modewright.geometry.loop import Loop

__all__ = ["Contour", "Drawing", "Layer", "Line", "Measure", "Note"]

Layer = Literal["OUTLINE", "CLAMP", "POCKET", "MASS", "PICKUP", "DRIVER", "DIMENSION", "NOTE"]
PointMm = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Contour:
    """A closed curve; its loop stays in metres, the writers scale it."""

    loop: Loop
    layer: Layer


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line."""

    start_mm: PointMm
    end_mm: PointMm
    layer: Layer


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A linear dimension along one axis.

    Parameters
    ----------
    start_mm, end_mm : tuple of two floats
        The measured places.
    axis : {"x", "y"}
        Direction of the measured distance.
    at_mm : float
        Where the dimension line lies on the other axis.
    text : str
        What it says, with unit or tolerance as wanted.
    """

    start_mm: PointMm
    end_mm: PointMm
    axis: Literal["x", "y"]
    at_mm: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A line of text, anchored at its lower left end."""

    place_mm: PointMm
    text: str
    height_mm: float = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A sheet of drawing.

    Parameters
    ----------
    title : str
    contours, lines, measures, notes
        What is on it.
    facts : tuple of str
        Lines of the title block: material, thickness, condition, design hash.
    """

    title: str
    contours: tuple[Contour, ...]
    lines: tuple[Line, ...]
    measures: tuple[Measure, ...]
    notes: tuple[Note, ...]
    facts: tuple[str, ...]
