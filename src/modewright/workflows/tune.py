"""Inverse design of a design file: a tuned file out, with data and pictures if asked for."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from modewright.chain.places import located_faults
from modewright.chain.tune import Tuning, tune_design
from modewright.design.driver_choice_settings import files_seen_from
from modewright.design.edit import edited_text
from modewright.design.load import parse_design
from modewright.design.source import read_bytes
from modewright.errors import ModewrightError
from modewright.report.tune_data import tuning_data
from modewright.report.tune_page import tuning_page
from modewright.report.tune_pictures import tuned_outlines_png, tuning_targets_png
from modewright.report.tune_tables import tune_sentences, tune_tables
from modewright.workflows.files import (
    check_folder,
    check_place,
    made_folder,
    write_bytes,
    write_text,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.chain.tune_terrain import TunedBody

__all__ = ["tune_file", "tune_sentences", "tune_tables"]


def tune_file(
    path: Path,
    *,
    output: Path | None = None,
    solution: int = 1,
    report: Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Tune a design file.

    Parameters
    ----------
    path : Path
        Design file with a section ``[tune]``.
    output : Path, optional
        Tuned design file: the author's text with the free dimensions changed. Written only if
        there is such a solution.
    solution : int
        Which solution to write, 1 being the best.
    report : Path, optional
        Folder for a page, pictures and data.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        As `modewright.report.tune_data.tuning_data`, with ``warnings`` of the file and what was
        ``written``.

    Raises
    ------
    ModewrightError
        If the design cannot be solved, or the files cannot be written.
    """
    if output is not None and output.resolve() == path.resolve():
        raise ModewrightError(
            f"{output}: expected a name for the tuned design, got the design itself.",
            hint="Choose another name; nothing was overwritten.",
        )
    if output is not None:
        check_place(output)
    if report is not None:
        check_folder(report)
    content = read_bytes(path)
    loaded = parse_design(content, folder=path.parent, file=str(path))
    with located_faults(loaded):
        found = tune_design(loaded.design, loaded.folder, progress=progress)
    data = tuning_data(found, loaded.design_hash)
    data["warnings"] = [str(warning) for warning in loaded.warnings]
    data["written"] = None
    if output is not None and found.solutions:
        body = _chosen(found, solution)
        write_text(output, _tuned_text(content, found, body, output))
        data["written"] = {"path": str(output), "solution": solution}
    if report is not None:
        _write_report(found, data, report)
    return data


def _chosen(found: Tuning, number: int) -> TunedBody:
    if number > len(found.solutions):
        raise ModewrightError(
            f"solution: expected 1 to {len(found.solutions)}, got {number}.",
            hint="Nothing was written.",
        )
    return found.solutions[number - 1].body


def _tuned_text(content: bytes, found: Tuning, body: TunedBody, output: Path) -> str:
    """The author's file with new values, read back to be sure that it says the tuned design."""
    changes = {
        address: dimension.text(dimension.at(float(share)))
        for dimension, share in zip(found.task.dimensions, body.position, strict=True)
        for address in dimension.addresses
    }
    settings = found.task.design.driver_choice
    changes |= files_seen_from(settings, found.task.folder, output.parent)
    text = edited_text(content.decode("utf-8-sig"), changes)
    parse_design(text.encode("utf-8"), folder=output.parent, file=str(output))
    return text


def _write_report(found: Tuning, data: dict[str, Any], folder: Path) -> None:
    targets, outlines = tuning_targets_png(found), tuned_outlines_png(found)
    page = tuning_page(data, targets, outlines)
    made_folder(folder)
    write_bytes(folder / "targets.png", targets)
    write_bytes(folder / "outlines.png", outlines)
    write_text(folder / "tuning.json", json.dumps(data, indent=2) + "\n")
    write_text(folder / "index.html", page)
