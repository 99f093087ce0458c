"""Which driver for this note: a design in, a table of drivers out."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from modewright.chain.driver_choice import choose_driver
from modewright.chain.places import located_faults
from modewright.design.driver_choices import load_driver_choices
from modewright.design.load import load_design
from modewright.errors import TransducerError
from modewright.modes.solid import Accuracy
from modewright.report.tables import origin
from modewright.report.text_tables import TextTable
from modewright.units import UnitError, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from modewright.chain.driver_choice import DriverVerdict
    from modewright.transducers.push import Push

__all__ = ["Accuracy", "driver_choice_tables", "report_drivers"]


def report_drivers(
    path: Path,
    *,
    others: Sequence[Path] = (),
    mode: str = "1",
    level: str = "10 um",
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Compare drivers on one mode of a design as plain data.

    Parameters
    ----------
    path : Path
        Design file.
    others : sequence of Path
        Files with further ``[[drivers]]``, each with an ``[amplifier]`` of its own or without.
    mode : str
        Number or label of the mode, in the body without driver.
    level : str
        Amplitude at the reference point, with its unit.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        ``mode`` and ``drivers``: what each can do and what it does to the mode, or why not.

    Raises
    ------
    ModewrightError
        If the design or the file of drivers is at fault, or there is nothing to compare.
    """
    level_m = _level_m(level)
    loaded = load_design(path)
    own = loaded.design.electronics.amplifier
    candidates = [(driver, own) for driver in loaded.design.drivers]
    for other in others:
        choices = load_driver_choices(other)
        amplifier = own if choices.amplifier is None else choices.amplifier
        candidates += [(driver, amplifier) for driver in choices.drivers]
    if not candidates:
        raise TransducerError(
            f"{path}: drivers: expected at least one, got none.",
            hint="Add [[drivers]] to the design, or name a file of them.",
        )
    with located_faults(loaded):
        choice = choose_driver(
            loaded.design,
            loaded.folder,
            candidates,
            mode=int(mode) if mode.isdecimal() else mode,
            level_m=level_m,
            accuracy=accuracy,
            progress=progress,
        )
    return {
        "name": loaded.design.design.name,
        **origin(loaded.design_hash, accuracy),
        "mode": {
            "number": choice.mode,
            "label": choice.label,
            "freq_hz": choice.freq_hz,
            "q": choice.q,
            "level_m": choice.level_m,
        },
        "drivers": [_driver_data(verdict) for verdict in choice.verdicts],
        "warnings": [str(warning) for warning in loaded.warnings],
    }


def _driver_data(verdict: DriverVerdict) -> dict[str, Any]:
    head = {"name": verdict.name, "kind": verdict.kind}
    push: Push | None = verdict.push
    if push is None:
        return {**head, "reason": verdict.reason}
    return {
        **head,
        **dataclasses.asdict(push),
        "cents": verdict.cents,
        "q": verdict.q,
        "q_shorted": verdict.q_shorted,
    }


def driver_choice_tables(found: dict[str, Any]) -> tuple[TextTable, ...]:
    """What `report_drivers` gave, as tables to read."""
    mode = found["mode"]
    usable = [one for one in found["drivers"] if "reason" not in one]
    title = (
        f"{found['name']}, mode {mode['number']} ({mode['label']}), without driver "
        f"{mode['freq_hz']:.2f} Hz and Q {mode['q']:.0f}; at the reference point, level "
        f"{mode['level_m'] * 1e6:.4g} µm"
    )
    does = TextTable(
        title=f"{title}: what each driver does",
        columns=(
            "driver", "kind", "mN at 1 W", "strikes to µm", "by", "keeps up µm", "by",
            "brakes 60 dB in s", "holds with mW",
        ),
        rows=tuple(_does(one) for one in usable),
    )  # fmt: skip
    costs = TextTable(
        title="What it does to the mode by being there, and what its warmth does to its drive",
        columns=("driver", "cents", "Q", "Q, shorted", "warm dB", "warm °"),
        rows=tuple(_costs(one) for one in usable),
    )
    return (does, costs) if usable else ()


def _does(one: dict[str, Any]) -> tuple[str, ...]:
    hold_w = one["hold_w"]
    return (
        one["name"],
        one["kind"],
        f"{one['force_at_watt_n'] * 1e3:.3g}",
        f"{one['strike_m'] * 1e6:.3g}",
        one["strike_by"],
        f"{one['steady_m'] * 1e6:.3g}",
        one["steady_by"],
        f"{one['fall_s']:.3g}",
        "−" if hold_w is None else f"{hold_w * 1e3:.3g}",
    )


def _costs(one: dict[str, Any]) -> tuple[str, ...]:
    return (
        one["name"],
        f"{one['cents']:+z.2f}",
        f"{one['q']:.0f}",
        f"{one['q_shorted']:.0f}",
        f"{one['warm_db']:+z.2f}",
        f"{one['warm_deg']:+z.2f}",
    )


def _level_m(text: str) -> float:
    try:
        level_m = parse_quantity(text, "m")
    except UnitError as error:
        raise TransducerError(
            f"level: expected {error.expected}, got {text}.", hint="Give a number and a unit."
        ) from error
    if level_m <= 0:
        raise TransducerError(f"level: expected more than 0 m, got {text}.", hint="Try 10 um.")
    return level_m
