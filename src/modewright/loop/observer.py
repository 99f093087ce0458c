"""The joint observer: one model of all known modes, corrected by one innovation.

Two banks of complex states are kept. Bank d follows the body as the measurement shows it; bank p is
the same state predicted over the delay, so that a command computed from it acts in step when it
arrives:

    e = y - Re Σ ĉ d
    d <- λ d + b u[k-D] + l e
    p <- λ p + b u[k]   + λ^D l e

If the model is right, p[k] is exactly d[k+D]. The correction l is the stationary Kalman gain for
equal process noise on every mode in units of the signal each mode makes (Kalman 1960; Anderson &
Moore, Optimal Filtering, 1979, ch. 4). For a mode far from the others it is the averaged gain
2 β T / ĉ with the following rate β; close modes share the innovation as the covariance demands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import linalg

from modewright.checks import frozen_array
from modewright.errors import LoopError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.plant import Plant

__all__ = ["Observer", "check_heard", "design_observer"]

_HEARD_FLOOR = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Observer:
    """Coefficients of both banks.

    Parameters
    ----------
    modes : int array, shape (observed,)
        Which modes of the plant are modelled; the regulated ones come first.
    rotation, drive_gain, pickup_gain : complex arrays, shape (observed,)
        λ, b and ĉ, slow stages included. [-], [m/command], [V/m]
    correction, predicted_correction : complex arrays, shape (observed,)
        l and λ^D l. [m/V]
    bandwidth_hz : float
        β/2π of the averaged design. [Hz]
    push_gain : complex array, shape (observed,)
        What a command does to each mode, whether the bank counts with it or not; `drive_gain` where
        it does. [m/command]
    """

    modes: NDArray[np.int64]
    rotation: NDArray[np.complex128]
    drive_gain: NDArray[np.complex128]
    pickup_gain: NDArray[np.complex128]
    correction: NDArray[np.complex128]
    predicted_correction: NDArray[np.complex128]
    bandwidth_hz: float
    push_gain: NDArray[np.complex128]

    def __post_init__(self) -> None:
        modes = np.array(self.modes, dtype=np.int64)
        modes.setflags(write=False)
        object.__setattr__(self, "modes", modes)
        for name in (
            "rotation",
            "drive_gain",
            "pickup_gain",
            "correction",
            "predicted_correction",
            "push_gain",
        ):
            object.__setattr__(self, name, frozen_array(getattr(self, name), complex))


def design_observer(plant: Plant, modes: NDArray[np.int64], bandwidth_hz: float) -> Observer:
    """Find the correction gains for these modes.

    Parameters
    ----------
    plant : Plant
    modes : int array, shape (observed,)
        Indices into the plant's modes, regulated ones first.
    bandwidth_hz : float
        How fast an isolated mode is followed: its error falls by e in ``1/(2π bandwidth)``. [Hz]

    Returns
    -------
    Observer

    Raises
    ------
    LoopError
        If the pickup does not hear one of the modes, or no stationary gain exists.
    """
    rotation = plant.rotation[modes]
    heard = plant.pickup_gain[modes] * plant.input_sections.at(rotation)
    check_heard(plant, modes, heard)
    drive = plant.drive_gain[modes] * plant.output_sections.at(rotation)
    correction = _kalman_gain(rotation, bandwidth_hz / plant.rate_hz) / heard
    return Observer(
        modes=modes,
        rotation=rotation,
        drive_gain=drive,
        pickup_gain=heard,
        correction=correction,
        predicted_correction=rotation**plant.delay_samples * correction,
        bandwidth_hz=bandwidth_hz,
        push_gain=drive,
    )


def check_heard(plant: Plant, modes: NDArray[np.int64], heard: NDArray[np.complex128]) -> None:
    """Refuse modes that the pickup does not hear.

    Parameters
    ----------
    plant : Plant
    modes : int array, shape (observed,)
    heard : complex array, shape (observed,)
        ĉ. [V/m]

    Raises
    ------
    LoopError
        If there is one.
    """
    # Compared per modal coordinate: the level scale of a mode may be small at the reference point.
    per_coordinate = np.abs(heard * plant.scale_per_sqrt_kg[modes])
    loudest = float(np.abs(plant.pickup_gain * plant.scale_per_sqrt_kg).max())
    for index, value in zip(modes, per_coordinate, strict=True):
        if value <= _HEARD_FLOOR * loudest:
            raise LoopError(
                f"loop: expected a pickup that hears mode {index + 1} ({plant.labels[index]}), got "
                "next to no signal from it: the plate lies on a node, or the mode moves in the "
                "sheet's plane.",
                hint="Move or reshape the pickup plate, or lower loop.modelled_modes.",
            )


def _kalman_gain(
    rotation: NDArray[np.complex128], cycles_per_sample: float
) -> NDArray[np.complex128]:
    """Stationary gain for unit pickup gains, with unit measurement noise.

    For one mode, averaging over a period turns the Riccati equation into 0 = q - P²/2, and the
    error then decays by P/2 per sample: P = 2 β T and q = 2 (β T)².
    """
    count = len(rotation)
    step = 2 * np.pi * cycles_per_sample
    transition = np.block(
        [[np.diag(rotation.real), -np.diag(rotation.imag)],
         [np.diag(rotation.imag), np.diag(rotation.real)]]
    )  # fmt: skip
    output = np.concatenate([np.ones(count), np.zeros(count)])[None, :]
    process = 2 * step**2 * np.eye(2 * count)
    try:
        covariance = linalg.solve_discrete_are(transition.T, output.T, process, np.eye(1))
    except (linalg.LinAlgError, ValueError) as error:
        raise LoopError(
            "loop: expected modes that the observer can tell apart, got no stationary correction.",
            hint="Lower loop.modelled_modes or loop.observer_bandwidth.",
        ) from error
    gain = transition @ covariance @ output.T / (output @ covariance @ output.T + 1.0)
    return gain[:count, 0] + 1j * gain[count:, 0]
