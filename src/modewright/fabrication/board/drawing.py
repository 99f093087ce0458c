"""Drawing of a board for people and for drawing programs: both faces, holes, mask, sizes, notes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import Polygon

from modewright.fabrication.dimensions import dimensions
from modewright.fabrication.drawing import (
    TEXT_MM,
    Contour,
    Drawing,
    Note,
    layer_kind,
    part_layer,
)
from modewright.fabrication.title_block import layer_words
from modewright.geometry.corners import circle
from modewright.geometry.loop import Loop

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely.coords import CoordinateSequence

    from modewright.fabrication.board.model import Board, Copper
    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["draw_board", "fabrication_notes"]

_SCALES = (5.0, 4.0, 2.0, 1.0)
_PAPER_MM = 190.0
_LINE_MM = 4.2
_BELOW_MM = 8.0
_LAYERS = {"guard": "GUARD", "lead": "LEAD", "coupon": "COUPON"}


def draw_board(
    board: Board, sheet: Polygon, settings: BoardSettings, *, title: str, facts: tuple[str, ...]
) -> Drawing:
    """Draw a board in the axes of the design, seen from the sheet.

    Parameters
    ----------
    board : Board
    sheet : Polygon
        The body above it. [m]
    settings : BoardSettings
    title : str
    facts : tuple of str
        Lines under the title.

    Returns
    -------
    Drawing
        Plates on layers ``ELECTRODE_...`` and the edge on ``OUTLINE``, with which the reader of
        drawn outlines finds them again.
    """
    contours = (*_copper(board), *_rest(board, sheet))
    low_x, low_y, high_x, high_y = (1e3 * value for value in board.outline.bounds)
    # The body is drawn too: what does not fit beside it would only make the words small.
    both = board.outline.union(sheet).bounds
    longest = 1e3 * max(both[2] - both[0], both[3] - both[1])
    scale = next((s for s in _SCALES if s * longest <= _PAPER_MM), _SCALES[-1])
    edge = _loop(board.outline.exterior.coords)
    measures = dimensions(edge, (low_x, low_y), (high_x, high_y), scale)
    foot = min(measure.at_mm for measure in measures if measure.axis == "x")
    words = [
        title,
        *facts,
        *fabrication_notes(board, settings),
        *layer_words(c.layer for c in contours if layer_kind(c.layer) != "SHEET"),
    ]
    first = foot - _BELOW_MM / scale
    notes = [
        Note(place_mm=(low_x, first - i * _LINE_MM / scale), text=text, height_mm=TEXT_MM)
        for i, text in enumerate(words)
    ]
    return Drawing(
        title=title,
        scale=scale,
        contours=contours,
        measures=tuple(measures),
        notes=tuple(notes),
    )


def fabrication_notes(board: Board, settings: BoardSettings) -> tuple[str, ...]:
    """What the board house is told in words.

    Parameters
    ----------
    board : Board
    settings : BoardSettings

    Returns
    -------
    tuple of str
    """
    along, across = (board.tilt[0] * 1e3, board.tilt[1] * 1e3)
    tilt = f", growing {along:+g} um/mm in x, {across:+g} um/mm in y" if any(board.tilt) else ""
    return (
        f"two layers of {settings.copper_thickness_m * 1e6:.3g} um copper",
        f"on glass-filled epoxy, {settings.thickness_m * 1e3:.3g} mm",
        "places in mm, seen from the upper face",
        "bare copper with flat gold over nickel",
        "no solder mask on plates, guards and slits between",
        "no print on the upper face",
        f"holes of {settings.via_hole_m * 1e3:.3g} mm filled and capped, flush above",
        "every net tested for opens and shorts",
        "washed free of flux",
        f"upper face {board.gap_m * 1e3:.4g} mm under the sheet, parallel to it",
        *(() if not tilt else (f"at the first plate{tilt}",)),
    )


def _copper(board: Board) -> Iterator[Contour]:
    for copper in board.copper:
        if copper.role == "plate":
            layer = part_layer("ELECTRODE", copper.net.owner)
        else:
            layer = f"{_LAYERS.get(copper.role, 'PAD')}_{copper.side.upper()}"
        yield from (Contour(loop=loop, layer=layer) for loop in _loops(copper))


def _loops(copper: Copper) -> list[Loop]:
    if copper.loop is not None:
        return [copper.loop]
    return _rings(copper.area)


def _rings(area: Polygon) -> list[Loop]:
    return [_loop(ring.coords) for ring in (area.exterior, *area.interiors)]


def _rest(board: Board, sheet: Polygon) -> Iterator[Contour]:
    yield from (Contour(loop=loop, layer="OUTLINE") for loop in _rings(board.outline))
    for hole in board.holes:
        layer = "DRILL_BARE" if hole.net is None else "DRILL_LINED"
        yield Contour(loop=circle(hole.disc.centre_m, hole.disc.diameter_m), layer=layer)
    for side, openings in board.openings.items():
        for area in openings:
            yield from (Contour(loop=loop, layer=f"MASK_{side.upper()}") for loop in _rings(area))
    yield from (Contour(loop=loop, layer="SHEET") for loop in _rings(sheet))


def _loop(places: CoordinateSequence) -> Loop:
    return Loop.polygon(list(places)[:-1])
