"""Coefficients of a loop as plain data, for a controller that runs the real-time core."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop

__all__ = ["loop_coefficients"]


def loop_coefficients(loop: ClosedLoop) -> dict[str, Any]:
    """Everything that the controller needs; the plant is not part of it.

    Parameters
    ----------
    loop : ClosedLoop

    Returns
    -------
    dict
        Complex numbers as pairs of real and imaginary part; names and units as in
        `modewright.loop.observer.Observer` and `modewright.loop.regulators.Regulators`.
    """
    plant, observer, regulators = loop.plant, loop.observer, loop.regulators
    return {
        "rate_hz": plant.rate_hz,
        "delay_samples": plant.delay_samples,
        "command_unit": plant.command_unit,
        "command_limit": plant.command_limit,
        "full_scale_v": plant.full_scale_v,
        "observed_modes": [int(mode) + 1 for mode in observer.modes],
        "rotation": _pairs(observer.rotation),
        "drive_gain_m_per_command": _pairs(observer.drive_gain),
        "pickup_gain_v_per_m": _pairs(observer.pickup_gain),
        "correction_m_per_v": _pairs(observer.correction),
        "predicted_correction_m_per_v": _pairs(observer.predicted_correction),
        "regulated_modes": [int(mode) + 1 for mode in regulators.modes],
        "steering": _pairs(regulators.steering),
        "damp_gain_command_per_m": regulators.damp_gain.tolist(),
        "hold_gain_command_per_m": regulators.hold_gain.tolist(),
        "sustain_gain_command_per_m": regulators.sustain_gain.tolist(),
        "integral_gain_command_per_m": regulators.integral_gain.tolist(),
        "integral_limit_command": regulators.integral_limit.tolist(),
        "amplitude_limit_command": regulators.command_limit.tolist(),
        "silence_m": regulators.silence_m.tolist(),
        "level_m": regulators.level_m.tolist(),
        "state": list(regulators.state),
    }


def _pairs(values: NDArray[Any]) -> list[list[float]]:
    return [[float(value.real), float(value.imag)] for value in values]
