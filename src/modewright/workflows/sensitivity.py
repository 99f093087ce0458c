"""What every number of a design file does to its pitches, for the workshop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.chain.places import located_faults
from modewright.chain.sensitivity import frequency_sensitivity
from modewright.design.load import load_design
from modewright.modes.solid import Accuracy
from modewright.report.tables import origin
from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

__all__ = ["Accuracy", "report_sensitivity", "sensitivity_tables"]

# A step of each kind of number that a workshop or a day may bring.
_STEPS = {"m": (1e-5, "0.01 mm"), "K": (1.0, "1 K")}
_SHARE, _SHARE_TEXT = 0.01, "1 %"


def report_sensitivity(
    path: Path,
    *,
    addresses: Sequence[str] = (),
    count: int = 8,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Derivatives of the undamped frequencies of a design file as plain data.

    Parameters
    ----------
    path : Path
        Design file.
    addresses : sequence of str
        Numbers of the design; all of the body if empty.
    count : int
        How many modes.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        ``modes`` and ``parameters``, each with its cents per SI unit and per step, mode by mode,
        and ``without`` derivative, each with the reason.

    Raises
    ------
    ModewrightError
        If the design or an address is at fault.
    """
    loaded = load_design(path)
    with located_faults(loaded):
        found = frequency_sensitivity(
            loaded.design,
            loaded.folder,
            addresses or None,
            count=count,
            accuracy=accuracy,
            progress=progress,
        )
    parameters: list[dict[str, Any]] = []
    for number, parameter in enumerate(found.parameters):
        unit = parameter.address.spec.unit
        step, text = _STEPS.get(unit, (_SHARE * parameter.value, _SHARE_TEXT))
        cents = found.cents_per_unit[:, number]
        parameters.append(
            {
                "address": parameter.address.text,
                "value": parameter.value,
                "unit": unit,
                "shown": parameter.address.shown(parameter.value),
                "cents_per_unit": cents.tolist(),
                "step": text,
                "cents_per_step": (step * cents).tolist(),
            }
        )
    return {
        "name": loaded.design.design.name,
        **origin(loaded.design_hash, accuracy),
        "modes": [
            {"number": i, "label": label, "freq_hz": float(freq)}
            for i, (label, freq) in enumerate(
                zip(found.modes.labels, found.modes.freq_hz, strict=True), 1
            )
        ],
        "parameters": parameters,
        "without": [{"address": u.address.text, "reason": u.reason} for u in found.unfit],
        "warnings": [str(warning) for warning in loaded.warnings],
    }


def sensitivity_tables(found: dict[str, Any]) -> tuple[TextTable, ...]:
    """What `report_sensitivity` gave, as tables to read."""
    modes = found["modes"]
    table = TextTable(
        title=f"{found['name']}: cents by which each mode rises for a small step",
        columns=("number", "value", "step", *(f"{m['freq_hz']:.1f} Hz" for m in modes)),
        rows=tuple(_row(parameter) for parameter in found["parameters"]),
    )
    names = TextTable(
        title="Modes",
        columns=("mode", "Hz", "kind"),
        rows=tuple((str(m["number"]), f"{m['freq_hz']:.2f}", m["label"]) for m in modes),
    )
    return names, table


def _row(parameter: dict[str, Any]) -> tuple[str, ...]:
    cents = (f"{value:+z.2f}" for value in parameter["cents_per_step"])
    return (parameter["address"], parameter["shown"], f"+{parameter['step']}", *cents)
