"""Results as plain data: what goes into JSON, CSV and tables, with the settings that made it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from modewright import __version__
from modewright.decay import DECAY_60_DB
from modewright.pitch import cents_between, freq_hz_of_note, nearest_note

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.chain.body import Body
    from modewright.chain.hearing import HeardPickup, Hearing, PushingDriver
    from modewright.loop.close import ClosedLoop, LoopCase
    from modewright.loop.detuning import Detuning
    from modewright.loop.judge import JudgedStates
    from modewright.loop.margins import Margins
    from modewright.transducers.path_table import PathRow

__all__ = [
    "SMALL_HARMONIC",
    "driver_data",
    "finite",
    "loop_data",
    "modes_data",
    "origin",
    "path_data",
    "pickup_data",
    "rest_data",
    "wanted_data",
]

Data = dict[str, Any]

# The second harmonic comes from an expansion in the motion: beyond this it is only "large".
SMALL_HARMONIC = 0.3


def origin(design_hash: str, accuracy: str) -> Data:
    """What every result says of where it comes from."""
    return {"design_hash": design_hash, "accuracy": accuracy, "modewright": __version__}


def finite(value: float) -> float | None:
    """The value, or None where JSON has no word for it."""
    return float(value) if math.isfinite(value) else None


def modes_data(body: Body, a4_hz: float, count: int | None = None) -> list[Data]:
    """One entry per mode of the body, before bias and magnets act.

    Frequency, note and ratio are those in vacuum; air shifts them by ``air_cents``.
    """
    basis, modes = body.basis, body.modes
    mass_kg, moves = body.modal_mass_kg, body.moves_at_reference
    rows: list[Data] = []
    for i in range(len(basis.freq_hz) if count is None else min(count, len(basis.freq_hz))):
        note = nearest_note(float(modes.freq_hz[i]), a4_hz)
        rows.append(
            {
                "number": i + 1,
                "label": basis.labels[i],
                "freq_hz": float(modes.freq_hz[i]),
                "air_cents": float(body.losses.air_cents[i]),
                "cents_error_estimate": float(modes.error_cents[i]),
                "note": note.name,
                "note_cents": float(note.cents),
                "ratio": float(modes.freq_hz[i] / modes.freq_hz[0]),
                "q": float(basis.q[i]),
                "t60_s": float(basis.t60_s[i]),
                "modal_mass_kg": finite(float(mass_kg[i])) if moves[i] else None,
                "loss_shares": {
                    name: float(share)
                    for name, share in zip(
                        body.losses.mechanisms, body.losses.share[:, i], strict=True
                    )
                },
            }
        )
    return rows


def _turned(phase_deg: NDArray[np.float64]) -> NDArray[np.float64]:
    """Half a turn back and half a turn ahead are the same; write it one way."""
    return np.where(phase_deg <= -179.995, 180.0, phase_deg)


def _where(moves: NDArray[np.bool_], values: NDArray[np.float64], count: int) -> list[float | None]:
    pairs = zip(values[:count], moves[:count], strict=True)
    return [finite(float(value)) if is_moving else None for value, is_moving in pairs]


def pickup_data(pickup: HeardPickup, moves: NDArray[np.bool_], count: int) -> Data:
    """Figures of a pickup; per-mode lists hold the lowest `count` modes.

    `moves` says which modes move at the reference point; the others have no figures there.
    """
    figures = pickup.figures
    return {
        "name": figures.name,
        "capacitance_f": figures.capacitance_f,
        "fringe_factor": figures.fringe_factor,
        "fringe_method": figures.fringe_method,
        "corner_hz": figures.corner_hz,
        "noise_v_rms": {**figures.noise.contributor_v, "total": figures.noise.total_v},
        "ktc_noise_v_rms": figures.ktc_noise_v,
        "motion_m": figures.motion_m,
        "sensitivity_v_per_m": _where(moves, figures.sensitivity_v_per_m, count),
        "phase_deg": _where(moves, _turned(figures.phase_deg), count),
        "signal_to_noise_db": _where(moves, figures.signal_to_noise_db, count),
        "second_harmonic": _where(moves, figures.second_harmonic, count),
    }


def driver_data(driver: PushingDriver, moves: NDArray[np.bool_], count: int) -> Data:
    """Figures of a driver; per-mode lists hold the lowest `count` modes."""
    figures, limits = driver.figures, driver.figures.limits
    unit = figures.drive_unit
    per = unit.lower()
    return {
        "name": figures.name,
        "drive_unit": unit,
        "acts_by": figures.acts_by,
        f"force_factor_n_per_{per}": figures.force_factor_n_per_drive,
        f"force_on_mode_n_per_{per}": _where(moves, driver.force_n_per_drive, count),
        **figures.electrical,
        "static_pull_n": figures.pull_n,
        "gap_stiffness_n_per_m": figures.stiffness_n_per_m,
        f"limit_by_cause_{per}": {k: finite(v) for k, v in limits.drive_by_cause.items()},
        "binding_limit": limits.binding,
        "duty": figures.duty_text,
        f"drive_limit_{per}": limits.drive,
        "force_limit_n": limits.force_n,
        "power_at_limit_w": figures.power_w,
        "second_harmonic_at_limit": figures.second_harmonic,
        "lag_at_limit_deg": math.degrees(figures.lag_rad),
    }


def wanted_data(freq_hz: float, note: str, a4_hz: float) -> Data | None:
    """How far a frequency is from the note that the design names; None if it names none."""
    if not note:
        return None
    return {
        "note": note,
        "cents_off": cents_between(freq_hz, freq_hz_of_note(note, a4_hz)),
    }


def rest_data(hearing: Hearing, a4_hz: float, count: int) -> Data:
    """The operating point: gaps at rest and what bias and magnets do to the pitch."""
    point = hearing.operating_point
    note = nearest_note(float(point.basis.freq_hz[0]), a4_hz)
    return {
        "sounding": {
            "freq_hz": float(point.basis.freq_hz[0]),
            "note": note.name,
            "note_cents": float(note.cents),
        },
        "gaps": [
            {
                "name": gap.name,
                "pull_n": gap.pull_n,
                "closure_m": gap.closure_m,
                "closure_left_out_m": gap.left_out_m,
                "pull_in_margin": gap.margin,
            }
            for gap in point.at_rest
        ],
        "freq_hz": [float(f) for f in point.basis.freq_hz[:count]],
        "shift_cents": [float(c) for c in point.total_cents[:count]],
        "shift_by_cause_cents": {
            shift.cause: [float(c) for c in shift.cents[:count]] for shift in point.shifts
        },
    }


def path_data(path: tuple[PathRow, ...], count: int) -> list[Data]:
    """Magnitude and phase of every stage at the lowest `count` modes."""
    return [
        {
            "stage": row.name,
            "unit": row.unit,
            "magnitude_db": [finite(float(v)) for v in row.magnitude_db[:count]],
            "phase_deg": [float(v) for v in row.phase_deg[:count]],
        }
        for row in path
    ]


def loop_data(
    loop: ClosedLoop, delay_s: float, detuned: tuple[Detuning, ...] = (), fault: str = ""
) -> Data:
    """Everything the loop says of itself.

    `delay_s` is the sum of its pure delays; `detuned` says what a model that is off does, or
    `fault` why that cannot be told.
    """
    return {
        "is_stable": loop.is_stable,
        "findings": [*loop.findings, *([fault] if fault else [])],
        "rate_hz": loop.plant.rate_hz,
        "delay_samples": loop.plant.delay_samples,
        "total_delay_s": delay_s,
        "modes_in_plant": loop.plant.mode_count,
        "highest_mode_hz": float(loop.plant.freq_hz.max()),
        "observed_modes": [int(m) + 1 for m in loop.observer.modes],
        "command_unit": loop.plant.command_unit,
        "command_limit": loop.plant.command_limit,
        "cases": [_case_data(loop, case) for case in (loop.stated, loop.all_damped)],
        "other_states": [_judged_data(case) for case in loop.judged[2:]],
        "modes": _authority_data(loop),
        "detuning": [_detuning_data(loop, found) for found in detuned],
    }


def _detuning_data(loop: ClosedLoop, found: Detuning) -> Data:
    """One treated mode beside its model.

    A T60 of None means that it grows or cannot be followed, a level of None that it is not held.
    """
    return {
        "number": found.mode + 1,
        "label": loop.plant.labels[found.mode],
        "detuning_cents": [float(c) for c in found.detuning_cents],
        "held_level_db": [finite(v) for v in found.held_level_db],
        "held_pull_cents": [finite(v) for v in found.held_pull_cents],
        "damped_t60_s": [float(v) if v > 0 else None for v in found.damped_t60_s],
        "damped_pull_cents": [finite(v) for v in found.damped_pull_cents],
    }


def _case_data(loop: ClosedLoop, case: LoopCase) -> Data:
    poles = case.poles
    t60_s = DECAY_60_DB / poles.decay_rate_per_s
    judged = next(found for found in loop.judged if found.states == case.states)
    states = dict(zip((int(m) for m in loop.regulators.modes), case.states, strict=True))
    moving = [i for i in range(loop.plant.mode_count) if states.get(i) != "held"]
    return {
        "case": case.name,
        "is_stable": case.poles.is_stable and judged.is_stable,
        "margins": _margins_data(case.margins),
        "poles": [
            {
                "number": i + 1,
                "label": loop.plant.labels[i],
                "freq_hz": float(poles.freq_hz[i]),
                "t60_s": finite(float(t60_s[i])) if t60_s[i] > 0 else None,
                "decay_rate_per_s": float(poles.decay_rate_per_s[i]),
                "shift_cents": finite(float(poles.shift_cents[i])),
            }
            for i in moving
        ],
        "held": [
            {
                "number": held.mode + 1,
                "label": loop.plant.labels[held.mode],
                "freq_hz": held.freq_hz,
                "shift_cents": held.shift_cents,
                "level_rate_per_s": finite(held.level_rate_per_s),
            }
            for held in case.held
        ],
    }


def _judged_data(case: JudgedStates) -> Data:
    """States that only a score asks for."""
    return {
        "case": case.name,
        "is_stable": case.is_stable,
        "margins": _margins_data(case.margins),
    }


def _margins_data(margins: Margins) -> Data:
    return {
        "gain_db": finite(margins.gain_db),
        "gain_freq_hz": margins.gain_freq_hz,
        "gain_reduction_db": finite(margins.gain_reduction_db),
        "phase_deg": finite(margins.phase_deg),
        "phase_freq_hz": margins.phase_freq_hz,
        "delay_s": finite(margins.delay_s),
        "delay_freq_hz": margins.delay_freq_hz,
        "distance": margins.distance,
        "distance_freq_hz": margins.distance_freq_hz,
    }


def _authority_data(loop: ClosedLoop) -> list[Data]:
    regulators, authority = loop.regulators, loop.authority
    rows: list[Data] = []
    for i, mode in enumerate(regulators.modes):
        by_loop = float(authority.fastest_t60_loop_s[i])
        by_driver = float(authority.exponential_t60_driver_s[i])
        rows.append(
            {
                "number": int(mode) + 1,
                "label": loop.plant.labels[mode],
                "state": regulators.state[i],
                "level_m": float(regulators.level_m[i]),
                "highest_level_m": float(authority.highest_level_m[i]),
                "highest_level_by": authority.highest_level_by[i],
                "linear_level_m": finite(float(authority.linear_level_m[i])),
                "exponential_t60_s": max(by_loop, by_driver),
                "exponential_t60_by": "loop margins" if by_loop > by_driver else "driver limit",
                "fastest_t60_loop_s": by_loop,
                "exponential_t60_driver_s": by_driver,
                "decay_at_limit_s": float(authority.decay_at_limit_s[i]),
                "hold_command": float(authority.hold_command[i]),
                "hold_power_w": float(authority.hold_power_w[i]),
            }
        )
    return rows
