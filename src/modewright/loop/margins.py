"""How much the loop forgives: gain, phase and delay margins over all modes of the plant.

Definitions as in Franklin, Powell & Workman, Digital Control of Dynamic Systems, ch. 7, read from
the open-loop response 1 + L = 0. With many resonances the curve crosses the unit circle and the
negative real axis many times; the smallest distance counts, and the mode next to it is named.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Margins", "margins_from_response"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Margins:
    """Smallest distances to instability; infinite where the curve never crosses.

    Parameters
    ----------
    gain_db : float
        Factor by which the loop gain may rise. [dB]
    gain_freq_hz : float
        Where that crossing lies; 0 if there is none. [Hz]
    gain_reduction_db : float
        Factor by which it may fall, positive; infinite where no reduction ends stability. [dB]
    phase_deg : float
        Phase by which the loop may turn in either direction. [deg]
    phase_freq_hz : float
        Where that crossing lies. [Hz]
    delay_s : float
        Further delay that the loop bears. [s]
    delay_freq_hz : float
        Frequency at which it would break. [Hz]
    distance : float
        Smallest distance of the curve from -1 (reciprocal of the peak sensitivity).
    distance_freq_hz : float
        Where that is. [Hz]
    """

    gain_db: float
    gain_freq_hz: float
    gain_reduction_db: float
    phase_deg: float
    phase_freq_hz: float
    delay_s: float
    delay_freq_hz: float
    distance: float
    distance_freq_hz: float


def margins_from_response(
    freq_hz: NDArray[np.float64], response: NDArray[np.complex128], *, rate_hz: float | None = None
) -> Margins:
    """Read the margins off an open-loop response.

    Parameters
    ----------
    freq_hz : float array, shape (freqs,)
        Rising, dense enough that the response turns little from one to the next. [Hz]
    response : complex array, shape (freqs,)
        L, with the sign for which 1 + L = 0 gives the closed-loop poles.
    rate_hz : float, optional
        Sampling rate of a sampled loop. Its curve is closed: at 0 and at half the rate it meets its
        mirror image on the real axis, which counts as a crossing if the grid reaches there. [Hz]

    Returns
    -------
    Margins
    """
    ends = () if rate_hz is None else (0.0, rate_hz / 2)
    real_axis_hz, real_axis_gain = _negative_axis_crossings(freq_hz, response, ends)
    rise = real_axis_gain < 1
    gain_db, gain_freq_hz = _smallest(-20 * np.log10(real_axis_gain[rise]), real_axis_hz[rise])
    reduction_db, _ = _smallest(20 * np.log10(real_axis_gain[~rise]), real_axis_hz[~rise])
    unit_hz, unit_angle = _unit_circle_crossings(freq_hz, response)
    # Angle from -1, counted in the sense in which more lag reaches it.
    lag = np.mod(unit_angle + np.pi, 2 * np.pi)
    phase, phase_freq_hz = _smallest(np.minimum(lag, 2 * np.pi - lag), unit_hz)
    delay_s, delay_freq_hz = _smallest(lag / (2 * np.pi * unit_hz), unit_hz)
    nearest = int(np.argmin(np.abs(1 + response)))
    return Margins(
        gain_db=gain_db,
        gain_freq_hz=gain_freq_hz,
        gain_reduction_db=reduction_db,
        phase_deg=float(np.degrees(phase)),
        phase_freq_hz=phase_freq_hz,
        delay_s=delay_s,
        delay_freq_hz=delay_freq_hz,
        distance=float(np.abs(1 + response[nearest])),
        distance_freq_hz=float(freq_hz[nearest]),
    )


def _negative_axis_crossings(
    freq_hz: NDArray[np.float64], response: NDArray[np.complex128], ends: tuple[float, ...]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # At an end the curve lies on the axis; whatever round-off says there is no crossing of its own.
    at_end = np.isin(freq_hz, ends)
    inside, real, imag = freq_hz[~at_end], response.real[~at_end], response.imag[~at_end]
    change = np.nonzero((imag[:-1] > 0) != (imag[1:] > 0))[0]
    part = imag[change] / (imag[change] - imag[change + 1])
    at = real[change] + part * (real[change + 1] - real[change])
    where = inside[change] + part * (inside[change + 1] - inside[change])
    at = np.concatenate([at, response.real[at_end]])
    where = np.concatenate([where, freq_hz[at_end]])
    negative = at < 0
    return where[negative], -at[negative]


def _unit_circle_crossings(
    freq_hz: NDArray[np.float64], response: NDArray[np.complex128]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    level = np.log(np.maximum(np.abs(response), np.finfo(float).tiny))
    change = np.nonzero(np.signbit(level[:-1]) != np.signbit(level[1:]))[0]
    part = level[change] / (level[change] - level[change + 1])
    where = freq_hz[change] + part * (freq_hz[change + 1] - freq_hz[change])
    # A product, since a blocked direct voltage makes the response at 0 Hz vanish.
    turn = np.angle(response[change + 1] * response[change].conj())
    return where, np.angle(response[change]) + part * turn


def _smallest(values: NDArray[np.float64], freq_hz: NDArray[np.float64]) -> tuple[float, float]:
    if len(values) == 0:
        return float("inf"), 0.0
    index = int(np.argmin(values))
    return float(values[index]), float(freq_hz[index])
