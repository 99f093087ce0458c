"""The drawing of a whole sheet of blanks, for the one who cuts it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import Polygon

from modewright.fabrication.drawing import TEXT_MM, Contour, Drawing, Line, Note
from modewright.geometry.flatten import flatten
from modewright.geometry.transforms import moved, rotated

if TYPE_CHECKING:
    from collections.abc import Sequence

    from modewright.fabrication.drawing import PointMm
    from modewright.geometry.blank import Blank
    from modewright.geometry.loop import Loop
    from modewright.instrument.nest import Placement
    from modewright.instrument.sheet import BlankSheet

__all__ = ["draw_sheets"]

# Sizes on paper. [mm]
_PAPER = (270.0, 190.0)
_LINE = 5.0
_SAGITTA_M = 2e-5
_SCALES = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05)


def draw_sheets(
    blanks: Sequence[Blank],
    names: Sequence[str],
    placements: Sequence[Placement],
    sheet: BlankSheet,
    title: str,
) -> tuple[Drawing, ...]:
    """Draw every sheet with its blanks, contours as they should come out.

    Parameters
    ----------
    blanks : sequence of Blank
    names : sequence of str
        Written on each blank; not cut.
    placements : sequence of Placement
        Of each blank.
    sheet : BlankSheet
    title : str

    Returns
    -------
    tuple of Drawing
        One for each sheet; the origin is its lower left corner.
    """
    count = 1 + max(placement.sheet for placement in placements)
    return tuple(
        _draw(
            [
                entry
                for entry in zip(blanks, names, placements, strict=True)
                if entry[2].sheet == number
            ],
            sheet,
            title if count == 1 else f"{title}, sheet {number + 1} of {count}",
        )
        for number in range(count)
    )


def _draw(
    entries: Sequence[tuple[Blank, str, Placement]], sheet: BlankSheet, title: str
) -> Drawing:
    length, width = sheet.length_m * 1e3, sheet.width_m * 1e3
    scale = next(
        (s for s in _SCALES if s * length <= _PAPER[0] and s * width <= _PAPER[1]), _SCALES[-1]
    )
    thickness = entries[0][0].thickness_m * 1e3
    facts = (
        title,
        f"sheet {length:g} x {width:g} mm, thickness {thickness:g} mm, {len(entries)} blanks; "
        "direction of rolling along the length",
        f"contours as they should come out: offset the cut by half the kerf of "
        f"{sheet.kerf_m * 1e3:g} mm; {sheet.spacing_m * 1e3:g} mm stay between two cuts",
        "layer OUTLINE is cut, layer NOTE is not",
    )
    return Drawing(
        title=title,
        scale=scale,
        contours=tuple(
            Contour(loop=_laid(loop, placement), layer="OUTLINE")
            for blank, _, placement in entries
            for loop in (blank.outline.outer, *blank.outline.holes)
        ),
        lines=_frame(length, width),
        notes=(
            *(Note(place_mm=_label(blank, place, name, scale), text=name)
              for blank, name, place in entries),
            *(
                Note(place_mm=(0.0, -(row + 1) * _LINE / scale), text=text)
                for row, text in enumerate(facts)
            ),
        ),
    )  # fmt: skip


def _laid(loop: Loop, placement: Placement) -> Loop:
    return moved(rotated(loop, placement.angle_rad), placement.offset_m)


def _frame(length: float, width: float) -> tuple[Line, ...]:
    corners: list[PointMm] = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    return tuple(
        Line(start_mm=corners[i], end_mm=corners[(i + 1) % 4], layer="NOTE") for i in range(4)
    )


def _label(blank: Blank, placement: Placement, name: str, scale: float) -> PointMm:
    """Lower left end of a name on the metal, or beside it if the blank is narrow."""
    outline = Polygon(flatten(_laid(blank.outline.outer, placement), _SAGITTA_M) * 1e3)
    middle = outline.representative_point()
    width = Note(place_mm=(0.0, 0.0), text=name).width_mm / scale
    return middle.x - width / 2, middle.y - TEXT_MM / 2 / scale
