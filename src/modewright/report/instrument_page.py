"""One page about a whole instrument: its notes, their sheet, their base, their budget."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.report.blocks import table_block, titled
from modewright.report.instrument_tables import (
    budget_table,
    dimensions_table,
    instrument_sentences,
    neighbours_table,
    note_targets_table,
    notes_table,
    pulls_table,
)
from modewright.report.page import Chapter, caution, page, paragraph, picture, table, vector
from modewright.report.safety import CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["InstrumentPictures", "instrument_page"]

Data = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentPictures:
    """Pictures of an instrument, as bytes of files.

    Parameters
    ----------
    compass_png, crosstalk_png : bytes
    sheet_svgs : tuple of str
        Drawing of each sheet.
    """

    compass_png: bytes
    crosstalk_png: bytes
    sheet_svgs: tuple[str, ...]


def instrument_page(
    data: Data,
    pictures: InstrumentPictures,
    *,
    remarks: str,
    note_files: Sequence[str],
    files: Sequence[tuple[str, str]],
) -> str:
    """Build the page.

    Parameters
    ----------
    data : dict
        From `modewright.report.instrument_data.instrument_data`.
    pictures : InstrumentPictures
    remarks : str
        Of the instrument.
    note_files : sequence of str
        Design file of each note.
    files : sequence of (name, what)
        What else lies beside the page.

    Returns
    -------
    str
        HTML.
    """
    chapters = (
        _targets(data),
        _compass(data, pictures),
        _sheet(data, pictures),
        _together(data, pictures),
        _budget(data),
        _files(data, note_files, files),
        Chapter(title="Safety", blocks=(caution(CAUTIONS),)),
    )
    footer = (
        f"Instrument {data['plan_hash']}, family {data['design_hash']}, accuracy "
        f"{data['accuracy']}, modewright {data['modewright']}."
    )
    return page(data["name"], f"{_lead(data)} {remarks}", chapters, footer)


def _lead(data: Data) -> str:
    notes = data["notes"]
    met = sum(note["is_met"] for note in notes)
    verdict = f"all {len(notes)} notes meet" if met == len(notes) else f"{met} of {len(notes)} meet"
    worst = max(abs(note["miss_cents"]) for note in notes)
    return (
        f"{len(notes)} notes from {notes[0]['name']} to {notes[-1]['name']}, "
        f"{notes[0]['wanted_hz']:.2f} to {notes[-1]['wanted_hz']:.2f} Hz, A4 = "
        f"{data['a4_hz']:g} Hz; {verdict} their targets, the pitch within {worst:.2f} cents "
        "in the model."
    )


def _targets(data: Data) -> Chapter:
    on_base = "on the base that gives way" if data["is_on_base"] else "on a base that holds"
    return Chapter(
        title="Targets",
        blocks=(
            paragraph(
                f"What [tune] and [compass] ask of every note, {on_base}. “Off” is how far a note "
                "is from it, “margin” the room that is left, below 0 what is missing, both in "
                "cents. “Even” is the interval between an overtone and the tuned mode against that "
                "of the first note, which sets the pattern. The model itself may be off by the "
                "column ± of the next table, much the same for all notes."
            ),
            table_block(note_targets_table(data)),
            *titled(notes_table(data)),
            *(paragraph(sentence) for sentence in instrument_sentences(data)),
        ),
    )


def _compass(data: Data, pictures: InstrumentPictures) -> Chapter:
    return Chapter(
        title="Compass",
        blocks=(
            picture(
                pictures.compass_png,
                "png",
                "All modes of all notes over frequency; those that are tuned or kept even are "
                "joined. Thin lines: treble and bass staff.",
            ),
            *titled(dimensions_table(data)),
        ),
    )


def _sheet(data: Data, pictures: InstrumentPictures) -> Chapter:
    sheet = data["sheet"]
    return Chapter(
        title="Sheet",
        blocks=(
            paragraph(
                f"{len(sheet['blanks'])} blanks on {sheet['sheets']} "
                f"{'sheet' if sheet['sheets'] == 1 else 'sheets'} of "
                f"{sheet['length_m'] * 1e3:g} by {sheet['width_m'] * 1e3:g} mm; "
                f"{100 * sheet['used']:.0f} % become blanks. Contours are drawn as they should be "
                "after cutting: let the cutter offset by half the kerf."
            ),
            *(
                vector(svg, f"Sheet {number}; also as sheet_{number}.dxf. Dimensions in mm.")
                for number, svg in enumerate(pictures.sheet_svgs, 1)
            ),
        ),
    )


def _together(data: Data, pictures: InstrumentPictures) -> Chapter:
    blocks = [
        paragraph(
            "Each note is driven at its pitch; a square tells how loud it is in the pickup of "
            "another note, against its own. Through the base is what the base carries. The two "
            "electrical ways are upper bounds, with no shield between."
        ),
        picture(pictures.crosstalk_png, "png", "Levels in every pickup while each note is driven."),
        *titled(neighbours_table(data)),
    ]
    if data["pulls"]:
        blocks += titled(pulls_table(data))
    else:
        blocks.append(paragraph("No partials of different notes lie within 120 cents."))
    return Chapter(title="Notes together", blocks=tuple(blocks))


def _budget(data: Data) -> Chapter:
    shortages = data["budget"]["shortages"]
    return Chapter(
        title="Budget",
        blocks=(
            table_block(budget_table(data)),
            *(paragraph(sentence) for sentence in shortages),
            *([paragraph("Nothing is short.")] * (not shortages)),
        ),
    )


def _files(data: Data, note_files: Sequence[str], files: Sequence[tuple[str, str]]) -> Chapter:
    designs = [
        (file, f"design of {note['name']}")
        for note, file in zip(data["notes"], note_files, strict=True)
    ]
    return Chapter(
        title="Files",
        blocks=(
            paragraph("Every design file is one for modewright dossier."),
            table(("file", "what"), [*designs, *files]),
        ),
    )
