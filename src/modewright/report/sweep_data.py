"""A sweep as data, tables and a picture."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.report.plots.sweep_chart import SweepLine, sweep_png
from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from modewright.chain.sweep import Sweep
    from modewright.design.address import Address

__all__ = ["sweep_csv", "sweep_data", "sweep_picture", "sweep_tables"]


def sweep_csv(found: Sweep) -> str:
    """Frequencies over the number as rows of text, with units in the head."""
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


def sweep_data(found: Sweep) -> dict[str, Any]:
    """Everything that was found, in SI units."""
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


def sweep_picture(found: Sweep, name: str, a4_hz: float, *, here: float | None = None) -> bytes:
    """Modes over the number.

    Parameters
    ----------
    found : Sweep
    name : str
        Of the design.
    a4_hz : float
        For the notes. [Hz]
    here : float, optional
        Value in the design, marked if it lies in the range. [SI unit of the number]

    Returns
    -------
    bytes
        PNG.
    """
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
        here=None if here is None or not _is_inside(found, here) else _shown(found, here),
    )


def sweep_tables(found: Sweep) -> tuple[TextTable, ...]:
    """Ends of every mode, and where modes meet."""
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
                found.address.shown(one.value, 4),
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


def _is_inside(found: Sweep, value: float) -> bool:
    return bool(found.values.min() <= value <= found.values.max())


def _shown_unit(number: Address) -> str:
    return number.spec.show if number.spec.show != "1" else ""


def _shown(found: Sweep, value: float) -> float:
    """A value as a plain number in the unit in which it is shown."""
    return float(found.address.shown(value, 12).split(" ")[0])
