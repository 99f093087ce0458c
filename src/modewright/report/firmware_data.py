"""A controller for a microcontroller, as plain data and as tables."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from modewright.firmware.cost import CORES
from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from modewright.chain.firmware import Firmware
    from modewright.firmware.replay import Replayed
    from modewright.loop.close import ClosedLoop

__all__ = ["firmware_data", "firmware_tables"]

Data = dict[str, Any]


def firmware_data(firmware: Firmware, loop: ClosedLoop, replayed: Replayed | None) -> Data:
    """What it asks of a chip, what rounding does, and how the replay went, as plain data.

    Parameters
    ----------
    firmware : Firmware
    loop : ClosedLoop
        That it is of.
    replayed : Replayed or None
        None where no compiler was found.
    """
    plant, rounding, rate_hz = loop.plant, firmware.rounding, loop.plant.rate_hz
    cycles = [(core, core.cycles(firmware.operations)) for core in CORES]
    return {
        "observed": firmware.observed,
        "regulated": firmware.regulated,
        "rate_hz": rate_hz,
        "command_unit": plant.command_unit,
        "memory": asdict(firmware.memory),
        "operations": asdict(firmware.operations),
        "processors": [
            {"name": core.name, "cycles_per_sample": each, "clock_hz": each * rate_hz}
            for core, each in cycles
        ],
        "modes": [
            {
                "number": int(mode) + 1,
                "freq_hz": float(plant.freq_hz[mode]),
                "held_cents": _finite(held),
                "damped_cents": float(cents),
                "damped_t60_share": float(share),
            }
            for mode, held, cents, share in zip(
                loop.regulators.modes,
                rounding.held_cents,
                rounding.damped_cents,
                rounding.damped_t60_share,
                strict=True,
            )
        ],
        "replay": None
        if replayed is None
        else {"samples": firmware.vector_samples, **asdict(replayed)},
    }


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def firmware_tables(found: Data) -> tuple[TextTable, ...]:
    """What `firmware_data` gave, as tables to read."""
    return _rounding_table(found), _chip_table(found)


def _rounding_table(found: Data) -> TextTable:
    return TextTable(
        title="What float32 coefficients do to the treated modes",
        columns=("mode", "Hz", "held, cents", "damped, cents", "damped T60, %"),
        rows=tuple(
            (
                str(mode["number"]),
                f"{mode['freq_hz']:.2f}",
                "no swing" if mode["held_cents"] is None else f"{mode['held_cents']:+z.5f}",
                f"{mode['damped_cents']:+z.5f}",
                f"{mode['damped_t60_share'] * 100:+z.5f}",
            )
            for mode in found["modes"]
        ),
    )


def _chip_table(found: Data) -> TextTable:
    """Needs of the controller; the share of a chip's clock is left to whoever has the chip."""
    memory = found["memory"]
    replay = found["replay"] or {"ns_per_sample": None, "ticks_per_sample": None}
    rows = [
        ("working memory", f"{memory['working_bytes']} bytes"),
        ("tables", f"{memory['table_bytes']} bytes"),
        *(
            (
                f"{one['name']}, estimated",
                f"{one['cycles_per_sample']:.0f} cycles a sample, "
                f"{one['clock_hz'] / 1e6:.0f} MHz of its clock",
            )
            for one in found["processors"]
        ),
    ]
    if replay["ns_per_sample"] is not None:
        ticks = replay["ticks_per_sample"]
        counted = "" if ticks is None else f", {ticks:.0f} ticks of its clock"
        rows.append(("this computer, measured", f"{replay['ns_per_sample']:.0f} ns{counted}"))
    return TextTable(
        title=f"One sample of {found['rate_hz']:.0f} in a second: {found['observed']} modes "
        f"followed, {found['regulated']} treated",
        columns=("what", "needs"),
        rows=tuple(rows),
    )
