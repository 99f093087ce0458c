"""The text under a drawing: list of features, title, layers, and a bar to check the print by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.fabrication.drawing import LAYERS, TEXT_MM, Line, Note, layer_kind

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.fabrication.drawing import PointMm

__all__ = ["BAR_MM", "layer_words", "text_under"]

BAR_MM = 10.0

# Sizes on paper. [mm]
_LINE = 4.2
_PAD = 2.0
_TITLE = 3.4

_ADVICE = (
    "contour as it is to be after cutting, kerf not compensated; tolerances as agreed; mm",
    "sheet edges are sharp: deburr both faces, break the edges by no more than 0.1 mm",
    "take off no other metal: length, width and thickness make the pitch",
)


def layer_words(layers: Iterable[str]) -> list[str]:
    """What each layer of the DXF file is for, those with the same meaning in one line."""
    found: dict[str, list[str]] = {}
    order = list(LAYERS)
    for layer in sorted(set(layers), key=lambda name: (order.index(layer_kind(name)), name)):
        found.setdefault(LAYERS[layer_kind(layer)], []).append(layer)
    return [
        f"layer{'s' if len(names) > 1 else ''} {', '.join(names)}: {what}"
        for what, names in found.items()
    ]


def text_under(
    features: list[str], title: str, facts: list[str], corner_mm: PointMm, scale: float
) -> tuple[list[Line], list[Note]]:
    """Lay out the text.

    Parameters
    ----------
    features : list of str
    title : str
    facts : list of str
        Lines under the title.
    corner_mm : tuple of two floats
        Upper left corner, in millimetres of the part.
    scale : float
        Size on paper over true size.

    Returns
    -------
    tuple of (list of Line, list of Note)
    """
    x, y = corner_mm
    notes: list[Note] = []
    lines: list[Line] = []

    def write(text: str, height_mm: float = TEXT_MM) -> None:
        notes.append(Note(place_mm=(x + _PAD / scale, y), text=text, height_mm=height_mm))

    y -= _LINE / scale
    bar = (x + _PAD / scale, y)
    end = (bar[0] + BAR_MM, y)
    lines.append(Line(start_mm=bar, end_mm=end, layer="NOTE", is_thick=True))
    beside = (end[0] + _PAD / scale, y - TEXT_MM / 2 / scale)
    words = f"{BAR_MM:g} mm of the part; scale {_scale_words(scale)}"
    notes.append(Note(place_mm=beside, text=words))
    y -= (_LINE + _PAD) / scale
    for text in features:
        write(text)
        y -= _LINE / scale
    top = y + (_LINE - _PAD) / scale
    y -= _TITLE / scale
    write(title, _TITLE)
    for text in (*facts, *_ADVICE):
        y -= _LINE / scale
        write(text)
    foot = y - _PAD / scale
    right = x + (max(note.width_mm for note in notes) + 2 * _PAD) / scale
    corners = [(x, top), (right, top), (right, foot), (x, foot)]
    lines += [
        Line(start_mm=a, end_mm=b, layer="NOTE")
        for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)
    ]
    return lines, notes


def _scale_words(scale: float) -> str:
    return f"{scale:g} : 1" if scale >= 1 else f"1 : {1 / scale:g}"
