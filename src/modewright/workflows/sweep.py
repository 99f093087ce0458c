"""A number of a design file varied: table, data and a picture of the modes."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.chain.places import located_faults
from modewright.chain.sweep import sweep_number
from modewright.design.address import find_number
from modewright.design.load import load_design
from modewright.errors import DesignError, Problem
from modewright.modes.solid import Accuracy
from modewright.report.plots.sweep_chart import SweepLine, sweep_png
from modewright.report.tables import origin
from modewright.report.text_tables import TextTable
from modewright.units import UnitError, parse_quantity
from modewright.workflows.files import check_folder, made_folder, write_bytes, write_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.chain.sweep import Sweep
    from modewright.design.address import Address

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
    made_folder(folder)
    heading = loaded.design.design
    write_text(folder / "sweep.csv", _csv_text(found))
    data = {"name": heading.name, **origin(loaded.design_hash, accuracy), **_data(found)}
    write_text(folder / "sweep.json", json.dumps(data, indent=2) + "\n")
    write_bytes(folder / "sweep.png", _picture(found, heading.name, heading.a4_hz))
    files = tuple(folder / name for name in ("sweep.csv", "sweep.json"))
    return SweepReport(picture=folder / "sweep.png", files=files, tables=_tables(found))


def _value(text: str, number: Address, name: str) -> float:
    try:
        return parse_quantity(text, number.spec.unit)
    except UnitError as error:
        fault = Problem(what=name, expected=error.expected, got=f'"{text}"', hint=error.hint)
        raise DesignError([fault]) from error


def _shown_unit(number: Address) -> str:
    return number.spec.show if number.spec.show != "1" else ""


def _shown(found: Sweep, value: float) -> float:
    """A value as a plain number in the unit in which it is shown."""
    return float(found.address.shown(value, 12).split(" ")[0])


def _csv_text(found: Sweep) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    unit = _shown_unit(found.address)
    head = f"{found.address.text} [{unit}]" if unit else found.address.text
    names = [f"{i} {label} [Hz]" for i, label in enumerate(found.labels, 1)]
    writer.writerow([head, *names, "least assurance"])
    for value, freq, assurance in zip(found.values, found.freq_hz, found.assurance, strict=True):
        cells = [f"{f:.6g}" for f in freq]
        writer.writerow([f"{_shown(found, value):.9g}", *cells, f"{assurance.min():.4f}"])
    return stream.getvalue()


def _data(found: Sweep) -> dict[str, Any]:
    return {
        "parameter": found.address.text,
        "unit": found.address.spec.unit,
        "values": found.values.tolist(),
        "modes": [
            {
                "number": i + 1,
                "label": label,
                "freq_hz": found.freq_hz[:, i].tolist(),
                "assurance": found.assurance[:, i].tolist(),
            }
            for i, label in enumerate(found.labels)
        ],
        "approaches": [
            {
                "kind": one.kind,
                "modes": [mode + 1 for mode in one.modes],
                "value": one.value,
                "freq_hz": one.freq_hz,
                "gap_cents": one.gap_cents,
                "exchange": one.exchange,
            }
            for one in found.approaches
        ],
    }


def _picture(found: Sweep, name: str, a4_hz: float) -> bytes:
    unit = _shown_unit(found.address)
    return sweep_png(
        np.array([_shown(found, float(value)) for value in found.values]),
        [
            SweepLine(label=f"{i} {label}", freq_hz=found.freq_hz[:, i - 1])
            for i, label in enumerate(found.labels, 1)
        ],
        [replace(one, value=_shown(found, one.value)) for one in found.approaches],
        axis=f"{found.address.text} in {unit}" if unit else found.address.text,
        title=f"{name}: modes over {found.address.text} (×: crossing, circle: veering)",
        a4_hz=a4_hz,
    )


def _tables(found: Sweep) -> tuple[TextTable, ...]:
    ends = TextTable(
        title=f"Modes over {found.address.text}, undamped, each followed by its shape",
        columns=(
            "mode",
            f"Hz at {found.address.shown(float(found.values[0]))}",
            f"Hz at {found.address.shown(float(found.values[-1]))}",
            "cents",
            "least assurance",
            "kind at the start",
        ),
        rows=tuple(
            (
                str(i + 1),
                f"{first:.2f}",
                f"{last:.2f}",
                f"{1200 * np.log2(last / first):+.1f}",
                f"{found.assurance[:, i].min():.3f}",
                found.labels[i],
            )
            for i, (first, last) in enumerate(zip(found.freq_hz[0], found.freq_hz[-1], strict=True))
        ),
    )
    if not found.approaches:
        return (ends,)
    meetings = TextTable(
        title="Where modes meet",
        columns=("at", "modes", "Hz", "gap cents", "shape exchanged", "kind"),
        rows=tuple(
            (
                found.address.shown(one.value),
                f"{one.modes[0] + 1} and {one.modes[1] + 1}",
                f"{one.freq_hz:.1f}",
                f"{one.gap_cents:.1f}",
                f"{100 * one.exchange:.0f} %",
                one.kind,
            )
            for one in found.approaches
        ),
    )
    return ends, meetings
