"""From a closed loop to the coefficients and curves of the real-time core."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.loop.discrete import held_input_gain, mode_pole_rad_s
from modewright.sound.timeline import DAMPED, HELD
from modewright.sound.voice_program import ControlCurves, VoiceProgram

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators
    from modewright.modes.basis import ModeShapes
    from modewright.sound.timeline import Timeline

__all__ = ["control_curves", "force_gain_m_per_n", "voice_program"]


def force_gain_m_per_n(
    plant: Plant, shapes: ModeShapes, point_m: tuple[float, float]
) -> NDArray[np.complex128]:
    """Motion at the reference point that a force on another place, held for a sample, gives.

    Parameters
    ----------
    plant : Plant
    shapes : ModeShapes
        Of the same modes.
    point_m : tuple of two floats
        Place of the force, normal to the sheet. [m]

    Returns
    -------
    complex array, shape (modes,)
        [m/N]
    """
    normal = shapes.displacement(np.array([point_m]))[0, 2]
    pole = mode_pole_rad_s(2 * np.pi * plant.freq_hz, plant.damping_ratio)
    gain = plant.scale_per_sqrt_kg * normal * held_input_gain(pole, plant.rate_hz)
    return np.asarray(gain, dtype=np.complex128)


def voice_program(loop: ClosedLoop, force_gain: NDArray[np.complex128]) -> VoiceProgram:
    """Coefficients of one voice.

    Parameters
    ----------
    loop : ClosedLoop
    force_gain : complex array, shape (modes,)
        From `force_gain_m_per_n`. [m/N]

    Returns
    -------
    VoiceProgram
        With every treated mode left free until curves say otherwise.
    """
    plant, observer, regulators = loop.plant, loop.observer, loop.regulators
    free = np.zeros(len(regulators.modes))
    return VoiceProgram(
        rotation=plant.rotation,
        drive_gain=plant.drive_gain,
        force_gain=force_gain,
        pickup_gain=plant.pickup_gain,
        quadratic_per_v=plant.quadratic_per_v,
        cubic_per_v2=plant.cubic_per_v2,
        full_scale_v=plant.full_scale_v,
        input_sections=plant.input_sections.sos,
        output_sections=plant.output_sections.sos,
        delay_samples=plant.delay_samples,
        command_limit=plant.command_limit,
        observer_rotation=observer.rotation,
        observer_drive_gain=observer.drive_gain,
        observer_pickup_gain=observer.pickup_gain,
        correction=observer.correction,
        predicted_correction=observer.predicted_correction,
        target_m=free,
        gain=free,
        feedforward=free,
        integral_gain=free,
        integral_limit=regulators.integral_limit,
        amp_limit=regulators.command_limit,
        silence_m=regulators.silence_m,
        steering=regulators.steering,
    )


def control_curves(
    timeline: Timeline, target_m: NDArray[np.float64], regulators: Regulators, first: int, last: int
) -> ControlCurves:
    """Targets and gains of every regulator over time.

    Parameters
    ----------
    timeline : Timeline
    target_m : float array, shape (blocks + 1, regulated)
        Wanted level at every block edge of the whole timeline. [m]
    regulators : Regulators
    first, last : int
        Blocks from the first up to but not including the last.

    Returns
    -------
    ControlCurves
        The gain runs straight from one state's to the next within the block before the change.
    """
    state = timeline.state[first : last + 1]
    if last == len(timeline.state):
        state = np.vstack([state, state[-1:]])
    is_held, is_damped = state == HELD, state == DAMPED
    return ControlCurves(
        target_m=target_m[first : last + 1],
        gain=is_held * regulators.hold_gain + is_damped * regulators.damp_gain,
        feedforward=is_held[:-1] * regulators.sustain_gain,
        integral_gain=is_held[:-1] * regulators.integral_gain,
        steering=np.broadcast_to(regulators.steering, (last - first, len(regulators.steering))),
    )
