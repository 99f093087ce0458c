"""All notes of an instrument file: tuned, with a design file of each, data and drawings."""

from __future__ import annotations

import json
import re
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from modewright.chain.instrument import make_instrument
from modewright.chain.places import located_faults
from modewright.design.driver_choice_settings import files_seen_from
from modewright.design.edit import edited_text
from modewright.design.instrument_plan import load_plan
from modewright.design.load import parse_design
from modewright.design.source import read_bytes
from modewright.errors import DesignError, ModeProblemsError, SheetError
from modewright.fabrication.dxf import drawing_to_dxf
from modewright.fabrication.svg import drawing_to_svg
from modewright.pitch import cents_between, ratio_of_cents
from modewright.report.instrument_data import instrument_data
from modewright.report.instrument_page import InstrumentPictures, instrument_page
from modewright.report.instrument_tables import instrument_sentences, instrument_tables
from modewright.report.plots.blank_sheet import blank_sheets_png
from modewright.report.plots.compass_chart import compass_png
from modewright.report.plots.crosstalk_map import crosstalk_png
from modewright.tune.targets import Pitch, mode_text
from modewright.workflows.files import check_folder, made_folder, write_bytes, write_text

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

    from modewright.chain.compass import TunedCompass, TunedNote
    from modewright.chain.compass_coupling import Together
    from modewright.chain.compass_sheet import LaidOut
    from modewright.chain.instrument import Instrument
    from modewright.design.instrument_plan import LoadedPlan
    from modewright.tune.settings import TuneSettings

__all__ = ["instrument_file", "instrument_sentences", "instrument_tables"]


def instrument_file(
    path: Path,
    *,
    output: Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Tune all notes of an instrument file.

    Parameters
    ----------
    path : Path
        Instrument file.
    output : Path, optional
        Folder for a design file of each note and the data.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        As `modewright.report.instrument_data.instrument_data`, with ``warnings`` of the files and
        what was ``written``.

    Raises
    ------
    ModewrightError
        If a file cannot be read, the family cannot be solved, or the folder not be written.
    """
    loaded = load_plan(path)
    family = loaded.family
    if output is not None:
        check_folder(output)
    with located_faults(family), _located_plan(loaded):
        made = make_instrument(loaded.plan, family.design, family.folder, progress=progress)
    data = instrument_data(loaded.plan, made, family.folder, family.design_hash)
    data["warnings"] = [str(warning) for warning in loaded.warnings]
    data["written"] = []
    if output is not None:
        data["written"] = _write_all(loaded, made, data, output)
    return data


@contextmanager
def _located_plan(loaded: LoadedPlan) -> Generator[None]:
    """Give what is wrong with modes and the sheet that the plan names its file and line."""
    try:
        yield
    except SheetError as error:
        raise DesignError([loaded.located_sheet(error)]) from error
    except ModeProblemsError as error:
        raise DesignError([loaded.located_mode(problem) for problem in error.problems]) from error


def _write_all(
    loaded: LoadedPlan, made: Instrument, data: dict[str, Any], folder: Path
) -> list[str]:
    """Write designs, drawings, pictures, data and the page; names of the files."""
    # Before the folder is made: what is refused here leaves none behind.
    notes = _note_files(loaded, made.compass, folder)
    sheet_svgs = tuple(drawing_to_svg(drawing) for drawing in made.laid.drawings)
    sheets = _sheet_files(loaded, made.laid, sheet_svgs)
    charts = _charts(loaded, made.compass, made.together)
    pictures = {name: content for name, (_, content) in charts.items()}
    made_folder(folder)
    for name, content in (notes | sheets | pictures).items():
        write_bytes(folder / name, content)
    written = [*notes, *sheets, *charts, "instrument.json", "index.html"]
    write_text(
        folder / "instrument.json", json.dumps({**data, "written": written}, indent=2) + "\n"
    )
    page = instrument_page(
        data,
        InstrumentPictures(
            compass_png=charts["compass.png"][1],
            crosstalk_png=charts["crosstalk.png"][1],
            sheet_svgs=sheet_svgs,
        ),
        remarks=loaded.plan.instrument.remarks,
        note_files=list(notes),
        files=[
            *((name, "blanks on their sheet") for name in sheets),
            *((name, what) for name, (what, _) in charts.items()),
            ("instrument.json", "everything as data"),
        ],
    )
    write_text(folder / "index.html", page)
    return written


def _note_files(loaded: LoadedPlan, compass: TunedCompass, folder: Path) -> dict[str, bytes]:
    """A design file of each note, read back, by name."""
    files: dict[str, bytes] = {}
    content = read_bytes(Path(loaded.family.file)).decode("utf-8-sig")
    family = loaded.family
    content = edited_text(
        content, files_seen_from(family.design.driver_choice, family.folder, folder)
    )
    for number, note in enumerate(compass.notes, 1):
        name = f"{number:02d}_{_file_word(note.note.name)}.toml"
        text = _note_text(content, compass, note, loaded.family.design.tune).encode("utf-8")
        parse_design(text, folder=loaded.family.folder, file=name)
        files[name] = text
    return files


def _sheet_files(loaded: LoadedPlan, laid: LaidOut, svgs: tuple[str, ...]) -> dict[str, bytes]:
    """Drawings of the sheets and a picture of them, by name."""
    files: dict[str, bytes] = {}
    for number, (drawing, svg) in enumerate(zip(laid.drawings, svgs, strict=True), 1):
        files[f"sheet_{number}.dxf"] = drawing_to_dxf(drawing).encode("utf-8")
        files[f"sheet_{number}.svg"] = svg.encode("utf-8")
    sheet = loaded.plan.sheet
    files["sheet.png"] = blank_sheets_png(laid.sheets, sheet.length_m, sheet.width_m)
    return files


def _file_word(name: str) -> str:
    """Name of a note as part of a file name."""
    return re.sub(r"[^A-Za-z0-9_-]+", "_", name.replace("#", "sharp").replace("'", "_up"))


def _note_text(
    content: str, compass: TunedCompass, note: TunedNote, own: TuneSettings | None
) -> str:
    """The family's file with the dimensions and the heading of one note."""
    changes = {
        address: dimension.text(dimension.at(float(share)))
        for dimension, share in zip(compass.dimensions, note.body.position, strict=True)
        for address in dimension.addresses
    }
    heading = note.design.design
    changes |= {"design.name": heading.name, "design.note": heading.note}
    changes["design.a4"] = f"{heading.a4_hz:.6g} Hz"
    return edited_text(content, changes | _pitch_changes(note, own))


def _pitch_changes(note: TunedNote, own: TuneSettings | None) -> dict[str, str]:
    """Pitch of the note, as tuned before the base moves it, for targets of the family's own."""
    if own is None:
        return {}
    sounding_hz = float(note.body.sample.freq_hz[note.place])
    base_cents = note.miss_cents - cents_between(sounding_hz, note.note.freq_hz)
    freq_hz = note.note.freq_hz * ratio_of_cents(-base_cents)
    return {
        f"tune.targets[{number}].freq": f"{freq_hz:.7g} Hz"
        for number, target in enumerate(own.targets, 1)
        if isinstance(target, Pitch) and not target.note and target.freq_hz is None
    }


def _charts(
    loaded: LoadedPlan, compass: TunedCompass, together: Together
) -> dict[str, tuple[str, bytes]]:
    """Chart of the compass and maps of crosstalk: what each is, and its content, by file."""
    names = [note.note.name for note in compass.notes]
    even = [mode_text(mode) for mode in loaded.plan.compass.even_modes]
    chart = compass_png(
        names,
        [note.body.sample.freq_hz for note in compass.notes],
        [(note.place, *note.even_places) for note in compass.notes],
        ["tuned", *(f"{mode}, kept even" for mode in even)],
        loaded.plan.instrument.a4_hz,
    )
    ways = [("plate to plate", together.plates_db), ("coil to wires", together.coils_db)]
    if together.mechanical is not None:
        ways.insert(0, ("through the base", together.mechanical.level_db))
    return {
        "compass.png": ("all modes of all notes", chart),
        "crosstalk.png": ("levels in every pickup", crosstalk_png(ways, names)),
    }
