"""A number of a design file varied: table, data and a picture of the modes."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.chain.places import located_faults
from modewright.chain.sweep import sweep_number
from modewright.design.address import find_number
from modewright.design.load import load_design
from modewright.errors import DesignError, Problem
from modewright.modes.solid import Accuracy
from modewright.report.sweep_data import sweep_csv, sweep_data, sweep_picture, sweep_tables
from modewright.report.tables import origin
from modewright.units import UnitError, parse_quantity
from modewright.workflows.files import check_folder, made_folder, write_bytes, write_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.design.address import Address
    from modewright.report.text_tables import TextTable

__all__ = ["Accuracy", "SweepReport", "sweep_file"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepReport:
    """What was written and what to say about it."""

    picture: Path
    files: tuple[Path, ...]
    tables: tuple[TextTable, ...]


def sweep_file(
    path: Path,
    folder: Path,
    *,
    address: str,
    first: str,
    last: str,
    steps: int,
    count: int = 8,
    accuracy: Accuracy = "draft",
    progress: Callable[[str], None] | None = None,
) -> SweepReport:
    """Vary a number of a design file and write what becomes of its modes.

    Parameters
    ----------
    path : Path
        Design file.
    folder : Path
        Folder to write to.
    address : str
        Number of the design, such as ``resonator.arms[2].length``.
    first, last : str
        Range, each with its unit.
    steps : int
        How many steps lie between both, >= 1.
    count : int
        How many modes are followed.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    SweepReport

    Raises
    ------
    ModewrightError
        If the design, the address or the range is at fault, or the folder cannot be written to.
    """
    loaded = load_design(path)
    number = find_number(loaded.design, address)
    start, end = (_value(text, number, name) for text, name in ((first, "from"), (last, "to")))
    if start == end:
        raise DesignError([Problem(what="to", expected="another value than from", got=last)])
    values = [start + (end - start) * step / steps for step in range(steps + 1)]
    check_folder(folder)
    with located_faults(loaded):
        found = sweep_number(
            loaded.design,
            loaded.folder,
            address,
            values,
            count=count,
            accuracy=accuracy,
            progress=progress,
        )
    heading = loaded.design.design
    picture = sweep_picture(found, heading.name, heading.a4_hz)
    made_folder(folder)
    write_text(folder / "sweep.csv", sweep_csv(found))
    data = {"name": heading.name, **origin(loaded.design_hash, accuracy), **sweep_data(found)}
    write_text(folder / "sweep.json", json.dumps(data, indent=2) + "\n")
    write_bytes(folder / "sweep.png", picture)
    files = tuple(folder / name for name in ("sweep.csv", "sweep.json"))
    return SweepReport(picture=folder / "sweep.png", files=files, tables=sweep_tables(found))


def _value(text: str, number: Address, name: str) -> float:
    try:
        return parse_quantity(text, number.spec.unit)
    except UnitError as error:
        fault = Problem(what=name, expected=error.expected, got=f'"{text}"', hint=error.hint)
        raise DesignError([fault]) from error
