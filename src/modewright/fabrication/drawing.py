"""What a drawing is made of, whatever file it is written to.

Places are in millimetres of the part, sizes of letters in millimetres of paper. Layers carry
meaning, and are those that the reader of drawn outlines understands: ``OUTLINE`` is cut, ``CLAMP``
is held, ``ELECTRODE_...`` are pickup plates and ``DRIVER_...`` drivers. All others are for people.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from modewright.geometry.loop import Loop

__all__ = [
    "LAYERS", "LETTER_WIDTH", "TEXT_MM", "Contour", "Drawing", "Line", "Measure", "Note", "PointMm",
    "layer_kind", "part_layer",
]  # fmt: skip

PointMm = tuple[float, float]

# Every layer that can occur, with what the metal worker is told about it.
LAYERS = {
    "OUTLINE": "cut",
    "POCKET": "not cut: area to be thinned",
    "BEND": "not cut: bend, its middle and where it begins and ends",
    "CLAMP": "not cut: held place",
    "HATCH": "not cut: hatching of held places",
    "REST": "not cut: line of support",
    "MASS": "not cut: attached mass",
    "ELECTRODE": "not cut: pickup plate",
    "DRIVER": "not cut: driver",
    "GUARD": "copper: guard",
    "LEAD": "copper: lead",
    "PAD": "copper: connector, mark or hole",
    "COUPON": "copper: test coupon",
    "MASK": "no solder mask inside",
    "DRILL": "hole of this diameter",
    "SHEET": "not cut: the body above the board",
    "DIMENSION": "not cut",
    "NOTE": "not cut",
}

TEXT_MM = 2.4
# Mean width of a letter of a plain typeface, measured by the height of its capitals.
LETTER_WIDTH = 0.68


def part_layer(kind: Literal["ELECTRODE", "DRIVER"], name: str) -> str:
    """Layer of one plate or driver; characters that the file format forbids become ``_``."""
    return f"{kind}_{re.sub(r'[^A-Za-z0-9_-]+', '_', name)}"


def layer_kind(layer: str) -> str:
    """The entry of `LAYERS` that a layer belongs to."""
    return layer.split("_", maxsplit=1)[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Contour:
    """A closed curve; its loop stays in metres, the writers scale it."""

    loop: Loop
    layer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line."""

    start_mm: PointMm
    end_mm: PointMm
    layer: str
    is_thick: bool = False


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
    is_tight : bool
        Whether there is no room between the arrows: they and the text then stand outside, the text
        before the start.
    """

    start_mm: PointMm
    end_mm: PointMm
    axis: Literal["x", "y"]
    at_mm: float
    text: str
    is_tight: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A line of text, anchored at its lower left end. The height is measured on paper."""

    place_mm: PointMm
    text: str
    height_mm: float = TEXT_MM

    @property
    def width_mm(self) -> float:
        """Width on paper, estimated."""
        return LETTER_WIDTH * self.height_mm * len(self.text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A sheet of drawing.

    Parameters
    ----------
    title : str
    scale : float
        Size on paper over true size.
    contours, lines, measures, notes
        What is on it.
    """

    title: str
    scale: float = 1.0
    contours: tuple[Contour, ...] = ()
    lines: tuple[Line, ...] = ()
    measures: tuple[Measure, ...] = ()
    notes: tuple[Note, ...] = ()
