"""A measured impedance in, the figures of a driver out."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.errors import TransducerError
from modewright.report.text_tables import TextTable
from modewright.transducers.impedance_fit import fit_impedance
from modewright.units import format_quantity
from modewright.workflows.amounts import positive_amount

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.transducers.impedance_fit import Estimate, FittedDriver

__all__ = ["driver_section", "impedance_tables", "report_impedance"]

_FREQ = "frequency_hz"
_POLAR = ("magnitude_ohm", "phase_deg")
_PARTS = ("real_ohm", "imaginary_ohm")
_COLUMNS = f'"{_FREQ}" and either "{", ".join(_POLAR)}" or "{", ".join(_PARTS)}"'

# Name, SI unit, unit shown, key of the driver's section of a design file.
_FIGURES = {
    "resistance_ohm": ("resistance", "ohm", "ohm"),
    "inductance_h": ("inductance", "H", "mH"),
    "semi_inductance_ohm_per_rthz": ("semi-inductance", "ohm/rtHz", "ohm/rtHz"),
    "motional_resistance_ohm": ("motional resistance", "ohm", "ohm"),
    "resonance_hz": ("resonance", "Hz", "Hz"),
    "mechanical_q": ("mechanical Q", "1", "1"),
    "force_factor_n_per_a": ("force factor", "N/A", "N/A"),
}
_COIL_KEYS = {
    "resistance_ohm": "resistance",
    "inductance_h": "inductance",
    "semi_inductance_ohm_per_rthz": "semi_inductance",
}
_PART_KEYS = {
    "force_factor_n_per_a": "force_factor",
    "resonance_hz": "resonance",
    "mechanical_q": "mechanical_q",
}


def report_impedance(path: Path, *, moving_mass: str | None = None) -> dict[str, Any]:
    """Fit a driver to a measured impedance.

    Parameters
    ----------
    path : Path
        Comma-separated table with one line of names: ``frequency_hz`` and either
        ``magnitude_ohm, phase_deg`` or ``real_ohm, imaginary_ohm``; other columns do not count.
    moving_mass : str, optional
        With its unit, such as ``"30 mg"``.

    Returns
    -------
    dict
        ``figures`` (value, half of the 95 % interval, SI unit each), ``misfit`` and where it is
        largest, ``section`` for a design file.

    Raises
    ------
    ModewrightError
        If the file, or what it holds, is no impedance of a driver.
    """
    mass_kg = (
        None if moving_mass is None else positive_amount("moving mass", moving_mass, "kg", "30 mg")
    )
    freq_hz, impedance_ohm = _read(path)
    try:
        fitted = fit_impedance(freq_hz, impedance_ohm, moving_mass_kg=mass_kg)
    except TransducerError as error:
        raise TransducerError(f"{path}: {error.message}", hint=error.hint) from error
    return {
        "file": str(path),
        "points": len(freq_hz),
        "has_resonance": fitted.has_resonance,
        "moving_mass_kg": mass_kg,
        "figures": {
            key: {"value": e.value, "plus_minus": e.half_width, "unit": _FIGURES[key][1]}
            for key, e in fitted.estimates.items()
        },
        "misfit": fitted.misfit,
        "largest_misfit": fitted.largest_misfit,
        "largest_misfit_hz": fitted.largest_misfit_hz,
        "section": driver_section(fitted, mass_kg),
    }


def impedance_tables(found: dict[str, Any]) -> tuple[TextTable, ...]:
    """What `report_impedance` gave, as a table to read."""
    table = TextTable(
        title=(
            f"{found['file']}: {found['points']} frequencies, model off by "
            f"{found['misfit']:.2%} rms, most by {found['largest_misfit']:.2%} at "
            f"{found['largest_misfit_hz']:.4g} Hz"
        ),
        columns=("figure", "value", "95 % of cases within ±"),
        rows=tuple(_row(key, one) for key, one in found["figures"].items()),
    )
    return (table,)


def _row(key: str, one: dict[str, Any]) -> tuple[str, str, str]:
    name, unit, show = _FIGURES[key]
    value, half = one["value"], one["plus_minus"]
    zero = "" if abs(value) > half else " (may be none)"
    shown = _rounded(value, half)
    return (
        name,
        format_quantity(shown, unit, show=show),
        format_quantity(float(f"{half:.2g}"), unit, show=show) + zero,
    )


def _rounded(value: float, half_width: float) -> float:
    """Two digits more than the interval leaves sure, so that files bear no false precision."""
    if half_width <= 0 or value == 0:
        return float(f"{value:.6g}")
    digits = int(np.ceil(np.log10(max(abs(value) / half_width, 1.0)))) + 2
    return float(f"{value:.{min(digits, 9)}g}")


def driver_section(fitted: FittedDriver, mass_kg: float | None) -> str:
    """Lines for a design file: the winding, and a moving armature where its mass is known.

    Figures that cannot be told from nothing are left in: they are the likeliest.
    """
    estimates = fitted.estimates
    lines: list[str] = []
    if fitted.has_resonance and mass_kg is not None:
        mass = format_quantity(mass_kg, "kg", show="mg")
        lines += ["[[drivers]]", 'kind = "moving armature"', f'moving_mass = "{mass}"']
        lines += [_line(key, name, estimates) for key, name in _PART_KEYS.items()]
        lines.append("")
    lines.append("[drivers.coil]")
    lines += [_line(key, name, estimates) for key, name in _COIL_KEYS.items()]
    return "\n".join(lines) + "\n"


def _line(key: str, name: str, estimates: dict[str, Estimate]) -> str:
    one = estimates[key]
    _, unit, show = _FIGURES[key]
    value = _rounded(one.value, one.half_width)
    if unit == "1":
        return f"{name} = {value!r}"
    return f'{name} = "{format_quantity(value, unit, show=show)}"'


def _read(path: Path) -> tuple[NDArray[np.float64], NDArray[np.complex128]]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise TransducerError(
            f"{path}: expected a table as text, got bytes that are none.",
            hint="Export it as comma-separated values in UTF-8.",
        ) from error
    except OSError as error:
        raise TransducerError(
            f"{path}: expected a table that can be read, got: {error.strerror}.",
            hint="Give the path of the measured impedance.",
        ) from error
    rows = csv.reader(io.StringIO(text))
    first: list[str] = next(rows, list[str]())
    names = [name.strip().lower() for name in first]
    pair = next((p for p in (_POLAR, _PARTS) if {_FREQ, *p} <= set(names)), None)
    if pair is None:
        raise TransducerError(
            f"{path}:1: expected the columns {_COLUMNS}, got {', '.join(names) or 'nothing'}.",
            hint="Name the columns in the first line, separated by commas.",
        )
    chosen = [names.index(name) for name in (_FREQ, *pair)]
    found = [
        _numbers(path, rows.line_num, row, chosen) for row in rows if any(c.strip() for c in row)
    ]
    table = np.array(found, dtype=np.float64).reshape(-1, len(chosen))
    impedance_ohm = table[:, 1] + 1j * table[:, 2]
    if pair == _POLAR:
        impedance_ohm = table[:, 1] * np.exp(1j * np.radians(table[:, 2]))
    return table[:, 0], np.asarray(impedance_ohm, dtype=np.complex128)


def _numbers(path: Path, line: int, row: list[str], chosen: list[int]) -> list[float]:
    try:
        numbers = [float(row[index]) for index in chosen]
    except (ValueError, IndexError) as error:
        raise TransducerError(
            f"{path}:{line}: expected a number in every column, got {', '.join(row)}.",
            hint="Write decimal points, and commas between columns.",
        ) from error
    if not all(np.isfinite(numbers)):
        raise TransducerError(
            f"{path}:{line}: expected finite numbers, got {', '.join(row)}.",
            hint="Leave out rows that were not measured.",
        )
    return numbers
