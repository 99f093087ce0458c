"""All notes of an instrument laid on the sheet, and side by side on the base."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely import Polygon

from modewright.chain.places import place_design
from modewright.checks import frozen_array
from modewright.errors import SheetError
from modewright.geometry.flatten import flatten
from modewright.geometry.measures import bounding_box_m
from modewright.instrument.nest import nest
from modewright.instrument.row import row_length_m, row_places_m
from modewright.instrument.sheet_drawing import draw_sheets

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.chain.compass import TunedNote
    from modewright.chain.places import PlacedDesign
    from modewright.design.instrument_plan import InstrumentPlan
    from modewright.design.schema import Design
    from modewright.fabrication.drawing import Drawing
    from modewright.geometry.blank import Blank
    from modewright.instrument.nest import Placement

__all__ = ["LaidOut", "check_fits_sheet", "lay_out"]

# Arcs are cut into chords so near that the distance between contours suffers less than a kerf.
_SAGITTA_M = 5e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidOut:
    """Where the blanks of an instrument lie on the sheet and stand on the base.

    Parameters
    ----------
    placed : tuple of PlacedDesign
        Design and blank of every note.
    names : tuple of str
        Of every blank on the sheets, copies included.
    outlines : tuple of Polygon
        Of every blank on the sheets, where it lies. [m]
    placements : tuple of Placement
    drawings : tuple of Drawing
        One for each sheet.
    used : float
        Share of the sheets that becomes blanks.
    row_m : float array, shape (notes,)
        Middle of every note along the row, from the middle of the base. [m]
    row_length_m : float
        Length that the row takes, with both edges. [m]
    """

    placed: tuple[PlacedDesign, ...]
    names: tuple[str, ...]
    outlines: tuple[Polygon, ...]
    placements: tuple[Placement, ...]
    drawings: tuple[Drawing, ...]
    used: float
    row_m: NDArray[np.float64]
    row_length_m: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "row_m", frozen_array(self.row_m))

    @property
    def sheets(self) -> list[list[tuple[str, Polygon]]]:
        """Name and outline of every blank, sheet by sheet."""
        count = 1 + max(placement.sheet for placement in self.placements)
        found: list[list[tuple[str, Polygon]]] = [[] for _ in range(count)]
        for name, outline, place in zip(self.names, self.outlines, self.placements, strict=True):
            found[place.sheet].append((name, outline))
        return found


def check_fits_sheet(plan: InstrumentPlan, family: Design, folder: Path) -> None:
    """Refuse a family that the sheet cannot give, before its notes are tuned.

    Raises
    ------
    SheetError
        If the bodies are not cut from sheet, or the family's blank is larger than the sheet.
    """
    blank = place_design(family, folder).blank
    if blank.solid is not None:
        raise SheetError(
            "sheet: expected bodies that are cut from sheet, got solids.",
            hint="Take a family that is cut from sheet.",
        )
    nest([_polygon(blank)], plan.sheet)


def lay_out(plan: InstrumentPlan, notes: Sequence[TunedNote], folder: Path) -> LaidOut:
    """Lay all blanks on sheets and all notes in a row.

    Parameters
    ----------
    plan : InstrumentPlan
    notes : sequence of TunedNote
    folder : Path
        Folder of the family's design file.

    Returns
    -------
    LaidOut

    Raises
    ------
    SheetError
        If a blank does not fit on the sheet.
    """
    placed = tuple(place_design(note.design, folder) for note in notes)
    copies = plan.sheet.copies
    blanks = [one.blank for one in placed for _ in range(copies)]
    names = [note.note.name for note in notes for _ in range(copies)]
    flat = [_polygon(blank) for blank in blanks]
    placements = nest(flat, plan.sheet)
    outlines = tuple(p.placed(one) for p, one in zip(placements, flat, strict=True))
    sheets = 1 + max(place.sheet for place in placements)
    area_m2 = plan.sheet.length_m * plan.sheet.width_m * sheets
    boxes = [bounding_box_m(one.blank.outline.outer) for one in placed]
    width_m = np.array([high[1] - low[1] for low, high in boxes])
    row_m = row_places_m(plan.layout, width_m)
    return LaidOut(
        placed=placed,
        names=tuple(names),
        outlines=outlines,
        placements=placements,
        drawings=draw_sheets(blanks, names, placements, plan.sheet, plan.instrument.name),
        used=float(sum(outline.area for outline in outlines)) / area_m2,
        row_m=row_m,
        row_length_m=row_length_m(plan.layout, width_m, row_m),
    )


def _polygon(blank: Blank) -> Polygon:
    return Polygon(
        flatten(blank.outline.outer, _SAGITTA_M),
        [flatten(hole, _SAGITTA_M) for hole in blank.outline.holes],
    )
