"""Methods of control side by side, as plain data and as tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from modewright.loop.methods import recommended
from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from modewright.loop.methods import MethodTrial
    from modewright.loop.plant import Plant
    from modewright.loop.settings import LoopSettings

__all__ = ["method_data", "method_tables"]

Data = dict[str, Any]


def method_data(plant: Plant, settings: LoopSettings, trials: tuple[MethodTrial, ...]) -> Data:
    """Trials as plain data; None stands for what is not known or never ends."""
    method, why = recommended(trials)
    return {
        "modes": [
            {
                "number": control.number,
                "freq_hz": float(plant.freq_hz[control.number - 1]),
                "wanted_t60_s": control.decay_s,
            }
            for control in settings.modes
        ],
        "methods": [
            {
                "method": trial.method,
                "fault": trial.fault or None,
                "is_stable": trial.is_stable,
                "serves": trial.serves,
                "gain_db": _known(trial.gain_db),
                "phase_deg": _known(trial.phase_deg),
                "delay_s": _known(trial.delay_s),
                "t60_s": [_known(value) for value in trial.t60_s],
                "damped_cents": [_known(value) for value in trial.damped_cents],
                "held_cents": [_known(value) for value in trial.held_cents],
                "missed": list(trial.missed),
            }
            for trial in trials
        ],
        "recommended": method,
        "why": why,
    }


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def method_tables(found: Data) -> tuple[TextTable, ...]:
    """What `method_data` gave, as tables to read."""
    return _margin_table(found), *(_mode_table(found, *one) for one in _MODE_FIGURES)


_MODE_FIGURES = (
    ("t60_s", "T60 in s with everything damped", ".3f"),
    ("damped_cents", "Cents by which damping moves the pitch", "+z.2f"),
    ("held_cents", "Cents by which holding moves the pitch", "+z.2f"),
)


def _margin_table(found: Data) -> TextTable:
    return TextTable(
        title="Methods of control: smallest margins over all states, -- where there is no end",
        columns=("method", "verdict", "gain dB", "phase °", "delay ms"),
        rows=tuple(
            (
                one["method"],
                _verdict(one),
                *(("", "", "") if one["fault"] else _margins(one)),
            )
            for one in found["methods"]
        ),
    )


def _margins(one: Data) -> tuple[str, ...]:
    delay_s = one["delay_s"]
    return (
        _shown(one["gain_db"], ".1f"),
        _shown(one["phase_deg"], ".0f"),
        _shown(None if delay_s is None else delay_s * 1e3, ".3f"),
    )


def _verdict(one: Data) -> str:
    if one["fault"]:
        return "cannot"
    if not one["is_stable"]:
        return "HOWLS"
    return "serves" if one["serves"] else "too near to howling"


def _mode_table(found: Data, key: str, title: str, spec: str) -> TextTable:
    can = [one for one in found["methods"] if not one["fault"]]
    is_decay = key == "t60_s"
    return TextTable(
        title=title,
        columns=("mode", "Hz", *(("wanted",) if is_decay else ()), *(one["method"] for one in can)),
        rows=tuple(
            (
                str(mode["number"]),
                f"{mode['freq_hz']:.1f}",
                *((f"{mode['wanted_t60_s']:.3g}",) if is_decay else ()),
                *(_shown(one[key][row], spec) for one in can),
            )
            for row, mode in enumerate(found["modes"])
        ),
    )


def _shown(value: float | None, spec: str) -> str:
    return "--" if value is None else format(value, spec)
