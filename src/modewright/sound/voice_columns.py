"""A voice as columns of the core's memory: which coefficient goes where."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.sound.voice_program import VoiceProgram

__all__ = ["ONE_WHEN_IDLE", "voice_columns"]

# Rows that a voice does not use hold zeros, but for a divisor and for sections that pass on.
ONE_WHEN_IDLE = ("regulators.silence", "input.b0", "output.b0")
_SECTION_COLUMNS = {"b0": 0, "b1": 1, "b2": 2, "a1": 4, "a2": 5}


def voice_columns(program: VoiceProgram) -> dict[str, NDArray[np.float64]]:
    """Coefficients by the name of the field that takes them.

    Parameters
    ----------
    program : VoiceProgram

    Returns
    -------
    dict of float arrays
        One value for each mode, section or regulator that the voice has.
    """
    columns: dict[str, NDArray[np.float64]] = {}
    for name, values in _complex_columns(program).items():
        columns[f"{name}_re"] = values.real
        columns[f"{name}_im"] = values.imag
    for part, index in _SECTION_COLUMNS.items():
        columns[f"input.{part}"] = program.input_sections[:, index]
        columns[f"output.{part}"] = program.output_sections[:, index]
    return columns | _real_columns(program)


def _complex_columns(program: VoiceProgram) -> dict[str, NDArray[np.complex128]]:
    # What is only heard is scaled to volts, so that the core sums without multiplying.
    heard = program.observer_pickup_gain
    return {
        "body.turn": program.rotation - 1,
        "body.drive": program.pickup_gain * program.drive_gain,
        "body.force": program.pickup_gain * program.force_gain,
        "observer.rotation": program.observer_rotation,
        "observer.heard_drive": heard * program.observer_drive_gain,
        "observer.heard_correction": heard * program.correction,
        "observer.drive": program.observer_drive_gain,
        "observer.correction": program.predicted_correction,
        "regulators.steering": program.steering,
    }


def _real_columns(program: VoiceProgram) -> dict[str, NDArray[np.float64]]:
    return {
        "quadratic": np.array([program.quadratic_per_v]),
        "cubic": np.array([program.cubic_per_v2]),
        "full_scale": np.array([program.full_scale_v]),
        "command_limit": np.array([program.command_limit]),
        "regulators.target": program.target_m,
        "regulators.target_end": program.target_m,
        "regulators.gain": program.gain,
        "regulators.gain_end": program.gain,
        "regulators.feedforward": program.feedforward,
        "regulators.integral_gain": program.integral_gain,
        "regulators.integral_limit": program.integral_limit,
        "regulators.amp_limit": program.amp_limit,
        "regulators.silence": program.silence_m,
    }
