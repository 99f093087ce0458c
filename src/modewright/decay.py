"""One decay, five names: damping ratio, quality factor, loss factor, decay rate, T60.

The tool stores the damping ratio ζ and converts at the border. Everywhere
η = 1/Q = 2 ζ, σ = ζ ω and T60 = 3 ln 10 / σ (Cremer & Heckl, Structure-Borne Sound, ch. III,
print the last one as T = 2.2/(f η)).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import check_positive

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "DECAY_60_DB",
    "damping_ratio_from_loss_factor",
    "damping_ratio_from_q",
    "damping_ratio_from_t60",
    "decay_rate_per_s",
    "loss_factor_from_damping_ratio",
    "q_from_damping_ratio",
    "t60_s_from_damping_ratio",
    "t60_s_from_q",
]

# Natural logarithm of 60 dB: amplitude falls by this many nepers in T60.
DECAY_60_DB = 3 * math.log(10)


def _positive(values: ArrayLike, name: str) -> NDArray[np.float64]:
    array = np.asarray(values, dtype=float)
    check_positive(array, name)
    return array


def q_from_damping_ratio(damping_ratio: ArrayLike) -> NDArray[np.float64]:
    """Quality factor Q = 1/(2 ζ).

    Parameters
    ----------
    damping_ratio : float or array
        ζ > 0.

    Returns
    -------
    float array, shape of the argument

    Raises
    ------
    ValueError
        If an entry is not a finite number above zero; so do all functions of this module.

    Examples
    --------
    >>> float(q_from_damping_ratio(0.0005))
    1000.0
    """
    return 1 / (2 * _positive(damping_ratio, "damping_ratio"))


def damping_ratio_from_q(q: ArrayLike) -> NDArray[np.float64]:
    """Damping ratio ζ = 1/(2 Q) of a quality factor."""
    return 1 / (2 * _positive(q, "q"))


def loss_factor_from_damping_ratio(damping_ratio: ArrayLike) -> NDArray[np.float64]:
    """Loss factor η = 2 ζ of a damping ratio, at resonance."""
    return 2 * _positive(damping_ratio, "damping_ratio")


def damping_ratio_from_loss_factor(loss_factor: ArrayLike) -> NDArray[np.float64]:
    """Damping ratio ζ = η/2 of a loss factor, at resonance."""
    return _positive(loss_factor, "loss_factor") / 2


def decay_rate_per_s(damping_ratio: ArrayLike, freq_hz: ArrayLike) -> NDArray[np.float64]:
    """Rate σ = ζ ω at which the amplitude falls, ``exp(-σ t)``. [1/s]

    Parameters
    ----------
    damping_ratio : float or array
        ζ > 0.
    freq_hz : float or array
        Undamped natural frequency. [Hz]

    Returns
    -------
    float array
        [1/s]
    """
    omega_rad_s = 2 * np.pi * _positive(freq_hz, "freq_hz")
    return _positive(damping_ratio, "damping_ratio") * omega_rad_s


def t60_s_from_damping_ratio(damping_ratio: ArrayLike, freq_hz: ArrayLike) -> NDArray[np.float64]:
    """Time in which the level falls by 60 dB, T60 = 3 ln 10/(ζ ω). [s]

    Parameters
    ----------
    damping_ratio : float or array
        ζ > 0.
    freq_hz : float or array
        Undamped natural frequency. [Hz]

    Returns
    -------
    float array
        [s]

    References
    ----------
    Cremer & Heckl, Structure-Borne Sound, ch. III.

    Examples
    --------
    >>> round(float(t60_s_from_damping_ratio(0.0005, 440.0)), 4)
    4.9973
    """
    return DECAY_60_DB / decay_rate_per_s(damping_ratio, freq_hz)


def t60_s_from_q(q: ArrayLike, freq_hz: ArrayLike) -> NDArray[np.float64]:
    """T60 = 3 ln 10 · Q/(π f), close to 2.2 Q/f. [s]"""
    return t60_s_from_damping_ratio(damping_ratio_from_q(q), freq_hz)


def damping_ratio_from_t60(t60_s: ArrayLike, freq_hz: ArrayLike) -> NDArray[np.float64]:
    """Damping ratio of a mode that falls by 60 dB in this time."""
    omega_rad_s = 2 * np.pi * _positive(freq_hz, "freq_hz")
    return DECAY_60_DB / (omega_rad_s * _positive(t60_s, "t60_s"))
