"""Disturbances of a pickup, recovery and delays, as plain data and as tables."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.report.text_tables import TextTable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.chain.disturbances import Disturbances
    from modewright.chain.hearing import Hearing
    from modewright.transducers.latency import LatencyBudget
    from modewright.transducers.overload import Overload

__all__ = [
    "disturbance_data",
    "disturbance_tables",
    "latency_data",
    "latency_tables",
    "recovery_data",
    "recovery_table",
]

Data = dict[str, Any]

_STATES = ("bare", "guarded", "dummy", "cancelled")


def _below_db(
    volts: NDArray[np.float64] | float, signal_v: NDArray[np.float64]
) -> list[float | None]:
    """Level against each signal; None where one of the two is nothing. [dB]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        level = 20 * np.log10(np.asarray(volts) / signal_v)
    return [float(v) if np.isfinite(v) else None for v in np.broadcast_to(level, signal_v.shape)]


def disturbance_data(found: Disturbances) -> Data:
    """Disturbances as plain data; ``level_db`` is against the voltage of each mode as held."""
    return {
        "modes": [
            {
                "number": int(mode) + 1,
                "freq_hz": float(f),
                "level_m": float(m),
                "signal_v_rms": float(v),
                "mains_harmonic": int(n),
                "mains_harmonic_cents": float(cents),
            }
            for mode, f, m, v, n, cents in zip(
                found.modes,
                found.freq_hz,
                found.level_m,
                found.signal_v,
                found.harmonic,
                found.harmonic_cents,
                strict=True,
            )
        ],
        "steady": [
            {
                "cause": one.cause,
                "freq_hz": one.freq_hz,
                "volts_v_rms": one.volts_v,
                "level_db": _below_db(one.volts_v, found.signal_v),
            }
            for one in found.steady
        ],
        "feedthrough": [
            {
                "cause": one.cause,
                **{
                    f"{state}_db": _below_db(getattr(one, f"{state}_v"), found.signal_v)
                    for state in _STATES
                },
            }
            for one in found.feedthrough
        ],
        "coupling_f": found.coupling_f,
        "mutual_h": found.mutual_h,
        "has_guard": found.has_guard,
        "not_judged": list(found.unjudged),
    }


def _cells(levels: Sequence[float | None]) -> tuple[str, ...]:
    return tuple("−" if level is None else f"{level:+.1f}" for level in levels)


def disturbance_tables(data: Data) -> tuple[TextTable, ...]:
    """Hum and ripple, then feedthrough, each in dB against every mode as held."""
    columns = tuple(f"mode {mode['number']} dB" for mode in data["modes"])
    levels = tuple(f"{mode['level_m'] * 1e6:.3g} µm" for mode in data["modes"])
    harmonics = tuple(
        f"{mode['mains_harmonic']}: {mode['mains_harmonic_cents']:+.0f} cents"
        for mode in data["modes"]
    )
    mutual_h = data["mutual_h"]
    magnetic = "" if mutual_h is None else f", mutual inductance {mutual_h * 1e9:.3g} nH"
    hum = TextTable(
        title="Hum and ripple at the preamplifier, against each mode at its level",
        columns=("cause", "Hz", "µV rms", *columns),
        rows=(
            *((("level", "", "", *levels),) if levels else ()),
            *((("nearest harmonic of the mains", "", "", *harmonics),) if levels else ()),
            *(
                (
                    one["cause"],
                    f"{one['freq_hz']:.4g}",
                    f"{one['volts_v_rms'] * 1e6:.3g}",
                    *_cells(one["level_db"]),
                )
                for one in data["steady"]
            ),
        ),
    )
    guard = "guard" if data["has_guard"] else "a guard as wide as the gap"
    words = ("nothing", guard, "and a dummy", "and what the loop subtracts")
    through = TextTable(
        title=(
            "Feedthrough of the driver while it holds each mode at its level "
            f"(winding to plate {data['coupling_f'] * 1e15:.3g} fF{magnetic})"
        ),
        columns=("cause", "with", *columns),
        rows=tuple(
            (one["cause"], word, *_cells(one[f"{state}_db"]))
            for one in data["feedthrough"]
            for state, word in zip(_STATES, words, strict=True)
        ),
    )
    return (*((hum,) if data["steady"] else ()), *((through,) if data["modes"] else ()))


def recovery_data(hearing: Hearing, force_n: float, found: Sequence[Overload]) -> list[Data]:
    """How each preamplifier bears the strike of the design."""
    return [
        {
            "pickup": heard.figures.name,
            "force_n": force_n,
            "largest_v": one.largest_v,
            "full_scale_v": one.full_scale_v,
            "recovery_s": one.recovery_s,
            "time_constant_s": one.time_constant_s,
        }
        for heard, one in zip(hearing.pickups, found, strict=True)
    ]


def recovery_table(data: Sequence[Data]) -> TextTable:
    """The same as a table."""
    return TextTable(
        title="Preamplifiers after the strike, all modes ringing freely",
        columns=("pickup", "strike N", "peak V, at most", "range V", "back within it s", "τ s"),
        rows=tuple(
            (
                one["pickup"],
                f"{one['force_n']:.3g}",
                f"{one['largest_v']:.3g}",
                f"{one['full_scale_v']:.3g}",
                "over 120" if one["recovery_s"] is None else f"{one['recovery_s']:.3f}",
                f"{one['time_constant_s']:.3g}",
            )
            for one in data
        ),
    )


def latency_data(
    found: LatencyBudget, freq_hz: NDArray[np.float64], modes: NDArray[np.int64]
) -> Data:
    """Delay and phase of every stage at every treated mode, and what they cost."""

    def of_modes(values: NDArray[np.float64]) -> list[float]:
        return [float(v) for v in values[modes]]

    return {
        "modes": [{"number": int(m) + 1, "freq_hz": float(freq_hz[m])} for m in modes],
        "stages": [
            {
                "stage": row.name,
                "delay_s": of_modes(row.delay_s),
                "phase_deg": of_modes(np.degrees(row.phase_rad)),
            }
            for row in (*found.rows, found.total)
        ],
        "kept_damping": of_modes(found.kept_damping),
        "detuning_cents_at_t60_of_1_s": of_modes(found.detuning_cents),
    }


def latency_tables(data: Data) -> tuple[TextTable, ...]:
    """Delays with phases, then the cost of leaving them as they are."""
    modes = [f"mode {mode['number']}" for mode in data["modes"]]
    budget = TextTable(
        title="Delay of every stage, µs, and its phase",
        columns=("stage", *modes),
        rows=tuple(
            (
                row["stage"],
                *(
                    f"{delay_s * 1e6:+z.1f} ({phase:+z.1f}°)"
                    for delay_s, phase in zip(row["delay_s"], row["phase_deg"], strict=True)
                ),
            )
            for row in data["stages"]
        ),
    )
    cost = TextTable(
        title="What a controller would lose that does not turn this phase back; this one does",
        columns=("", *modes),
        rows=(
            ("damping left, cos φ", *(f"{kept:+.3f}" for kept in data["kept_damping"])),
            (
                "cents, damped to a T60 of 1 s",
                *(f"{cents:+.2f}" for cents in data["detuning_cents_at_t60_of_1_s"]),
            ),
        ),
    )
    return budget, cost
