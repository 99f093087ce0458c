"""All notes of an instrument file: tuned, with a design file of each, data and drawings."""

from __future__ import annotations

import json
import re
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from modewright.chain.instrument import make_instrument
from modewright.chain.places import located_faults
from modewright.design.edit import edited_text
from modewright.design.instrument_plan import load_plan
from modewright.design.load import parse_design
from modewright.design.source import read_bytes
from modewright.errors import DesignError, ModeProblemsError
from modewright.fabrication.dxf import drawing_to_dxf
from modewright.fabrication.svg import drawing_to_svg
from modewright.report.instrument_data import instrument_data
from modewright.report.instrument_tables import instrument_sentences, instrument_tables
from modewright.report.plots.blank_sheet import blank_sheets_png
from modewright.report.plots.compass_chart import compass_png
from modewright.report.plots.crosstalk_map import crosstalk_png
from modewright.tune.targets import mode_text
from modewright.workflows.files import check_folder, made_folder, write_bytes, write_text

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

    from modewright.chain.compass import TunedCompass, TunedNote
    from modewright.chain.compass_coupling import Together
    from modewright.chain.compass_sheet import LaidOut
    from modewright.design.instrument_plan import LoadedPlan

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
    with located_faults(family), _located_modes(loaded):
        made = make_instrument(loaded.plan, family.design, family.folder, progress=progress)
    data = instrument_data(loaded.plan, made, family.folder, family.design_hash)
    data["warnings"] = [str(warning) for warning in loaded.warnings]
    data["written"] = []
    if output is not None:
        made_folder(output)
        data["written"] = [
            *_write_notes(loaded, made.compass, output),
            *_write_sheets(loaded, made.laid, output),
            *_write_charts(loaded, made.compass, made.together, output),
            "instrument.json",
        ]
        write_text(output / "instrument.json", json.dumps(data, indent=2) + "\n")
    return data


@contextmanager
def _located_modes(loaded: LoadedPlan) -> Generator[None]:
    """Give modes that the plan names and nothing bears its file and line."""
    try:
        yield
    except ModeProblemsError as error:
        raise DesignError([loaded.located_mode(problem) for problem in error.problems]) from error


def _write_notes(loaded: LoadedPlan, compass: TunedCompass, folder: Path) -> list[str]:
    """Write a design file of each note; names of the files."""
    written: list[str] = []
    content = read_bytes(Path(loaded.family.file)).decode("utf-8-sig")
    for number, note in enumerate(compass.notes, 1):
        name = f"{number:02d}_{_file_word(note.note.name)}.toml"
        text = _note_text(content, compass, note)
        parse_design(text.encode("utf-8"), folder=loaded.family.folder, file=name)
        write_text(folder / name, text)
        written.append(name)
    return written


def _write_sheets(loaded: LoadedPlan, laid: LaidOut, folder: Path) -> list[str]:
    """Write drawings of the sheets and a picture of them; names of the files."""
    written: list[str] = []
    for number, drawing in enumerate(laid.drawings, 1):
        for suffix, text in (("dxf", drawing_to_dxf(drawing)), ("svg", drawing_to_svg(drawing))):
            written.append(f"sheet_{number}.{suffix}")
            write_text(folder / written[-1], text)
    sheet = loaded.plan.sheet
    write_bytes(folder / "sheet.png", blank_sheets_png(laid.sheets, sheet.length_m, sheet.width_m))
    return [*written, "sheet.png"]


def _file_word(name: str) -> str:
    """Name of a note as part of a file name."""
    return re.sub(r"[^A-Za-z0-9_-]+", "_", name.replace("#", "sharp").replace("'", "_up"))


def _note_text(content: str, compass: TunedCompass, note: TunedNote) -> str:
    """The family's file with the dimensions and the heading of one note."""
    changes = {
        address: dimension.text(dimension.at(float(share)))
        for dimension, share in zip(compass.dimensions, note.body.position, strict=True)
        for address in dimension.addresses
    }
    heading = note.design.design
    changes |= {"design.name": heading.name, "design.note": heading.note}
    changes["design.a4"] = f"{heading.a4_hz:.6g} Hz"
    return edited_text(content, changes)


def _write_charts(
    loaded: LoadedPlan, compass: TunedCompass, together: Together, folder: Path
) -> list[str]:
    """Write the chart of the compass and the maps of crosstalk; names of the files."""
    names = [note.note.name for note in compass.notes]
    even = [mode_text(mode) for mode in loaded.plan.compass.even_modes]
    chart = compass_png(
        names,
        [note.body.sample.freq_hz for note in compass.notes],
        [(note.place, *note.even_places) for note in compass.notes],
        ["tuned", *(f"{mode}, kept even" for mode in even)],
        loaded.plan.instrument.a4_hz,
    )
    write_bytes(folder / "compass.png", chart)
    ways = [("plate to plate", together.plates_db), ("coil to wires", together.coils_db)]
    if together.mechanical is not None:
        ways.insert(0, ("through the base", together.mechanical.level_db))
    write_bytes(folder / "crosstalk.png", crosstalk_png(ways, names))
    return ["compass.png", "crosstalk.png"]
