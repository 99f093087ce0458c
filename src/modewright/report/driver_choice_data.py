"""Drivers compared on one mode: plain data and tables."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from modewright.chain.driver_choice import DriverChoice, DriverVerdict
    from modewright.transducers.push import Push

__all__ = ["driver_choice_data", "driver_choice_tables"]


def driver_choice_data(choice: DriverChoice) -> dict[str, Any]:
    """The mode, and what each driver can do and does to it, or why it cannot serve."""
    return {
        "mode": {
            "number": choice.mode,
            "label": choice.label,
            "freq_hz": choice.freq_hz,
            "q": choice.q,
            "level_m": choice.level_m,
        },
        "drivers": [_driver_data(verdict) for verdict in choice.verdicts],
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
    """What `driver_choice_data` gave, with ``name``, as tables to read."""
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
            "brakes 60 dB in s", "holds with mW", "µN on base",
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
        f"{one['base_n'] * 1e6:.3g}",
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
