"""All notes of an instrument file: tuned, with a design file of each, data and drawings."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from modewright.chain.compass import tune_compass
from modewright.chain.places import located_faults
from modewright.design.edit import edited_text
from modewright.design.instrument_plan import load_plan
from modewright.design.load import parse_design
from modewright.design.source import read_bytes
from modewright.report.instrument_data import instrument_data
from modewright.report.instrument_tables import instrument_sentences, instrument_tables
from modewright.workflows.files import made_folder, write_text

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.chain.compass import TunedCompass, TunedNote
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
        made_folder(output)
    with located_faults(family):
        compass = tune_compass(loaded.plan, family.design, family.folder, progress=progress)
    data = instrument_data(loaded.plan, compass, family.folder, family.design_hash)
    data["warnings"] = [str(warning) for warning in loaded.warnings]
    data["written"] = [] if output is None else _write(loaded, compass, data, output)
    return data


def _write(
    loaded: LoadedPlan, compass: TunedCompass, data: dict[str, Any], folder: Path
) -> list[str]:
    """Write everything; names of the files."""
    written: list[str] = []
    content = read_bytes(Path(loaded.family.file)).decode("utf-8-sig")
    for number, note in enumerate(compass.notes, 1):
        name = f"{number:02d}_{_file_word(note.note.name)}.toml"
        text = _note_text(content, compass, note)
        parse_design(text.encode("utf-8"), folder=loaded.family.folder, file=name)
        write_text(folder / name, text)
        written.append(name)
    write_text(folder / "instrument.json", json.dumps(data, indent=2) + "\n")
    return [*written, "instrument.json"]


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
