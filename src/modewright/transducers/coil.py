"""Electrical side of a coil: resistance, inductance and eddy currents.

``Z(s) = R + s L + K √s``; the last term, the semi-inductance, is what eddy currents in solid iron
make of an inductance (J. Vanderkooy, A model of loudspeaker driver impedance incorporating eddy
currents in the pole structure, J. Audio Eng. Soc. 37 (1989) 119). For states and poles √s is
replaced by a chain of resistors with inductors across them, so the coil stays passive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.transducers.stage import Stage

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Coil", "Ladder", "coil_current_stages", "coil_ladder", "slow_apart"]

# The chain spans the audio band and a little more. Its error is about 2 exp(-π²/step): 0.1 %.
_LADDER_LOG_STEP = 1.3
_LADDER_RAD_S = (2 * np.pi * 5.0, 2 * np.pi * 80e3)
_SLOW_RAD_S = 2 * np.pi * 1500.0
_BEYOND_RAD_S = 2 * np.pi * 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """Electrical figures of a coil at rest.

    Parameters
    ----------
    resistance_ohm : float
        > 0. [ohm]
    inductance_h : float
        >= 0. [H]
    semi_inductance_ohm_per_rthz : float
        K, >= 0, with √s in the square root of radians per second. [ohm √s]
    """

    resistance_ohm: float
    inductance_h: float
    semi_inductance_ohm_per_rthz: float

    def impedance_ohm(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Impedance of the model with the true √s. [ohm]"""
        s = np.asarray(2j * np.pi * np.asarray(freq_hz), dtype=np.complex128)
        value = (
            self.resistance_ohm
            + s * self.inductance_h
            + self.semi_inductance_ohm_per_rthz * np.sqrt(s)
        )
        return np.asarray(value, dtype=np.complex128)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ladder:
    """Chain that stands for a coil: R and L, in series with resistors that have inductors across.

    Parameters
    ----------
    resistance_ohm, inductance_h : float
        In series; the inductance is never zero. [ohm], [H]
    rate_rad_s : float array, shape (branches,)
        R/L of each branch, rising. [rad/s]
    branch_ohm : float array, shape (branches,)
        [ohm]
    """

    resistance_ohm: float
    inductance_h: float
    rate_rad_s: NDArray[np.float64]
    branch_ohm: NDArray[np.float64]

    @property
    def states(self) -> NDArray[np.float64]:
        """State matrix with the ends joined, symmetric; the first state is √L times the current.

        Shape (1 + branches, 1 + branches). [1/s]
        """
        joint = self.resistance_ohm + float(self.branch_ohm.sum())
        matrix = np.diag(-np.concatenate([[joint / self.inductance_h], self.rate_rad_s]))
        side = np.sqrt(self.branch_ohm * self.rate_rad_s / self.inductance_h)
        matrix[0, 1:] = matrix[1:, 0] = side
        return np.asarray(matrix, dtype=np.float64)


def coil_ladder(coil: Coil) -> Ladder:
    """Chain that stands for a coil.

    √s = (1/π) ∫ s/(s + x) dx/√x, taken in equal steps of ln x; what lies below and above the
    steps acts as a resistance and an inductance.
    """
    # Less than this cannot be told from nothing below 1 GHz, and would drown in round-off.
    least = coil.resistance_ohm / _BEYOND_RAD_S
    k = coil.semi_inductance_ohm_per_rthz
    k = k if k > least * np.sqrt(_BEYOND_RAD_S) else 0.0
    low, high = np.log(_LADDER_RAD_S)
    count = int(np.ceil((high - low) / _LADDER_LOG_STEP)) + 1
    rate = np.exp(low + _LADDER_LOG_STEP * np.arange(count)) if k else np.zeros(0)
    branch = k * _LADDER_LOG_STEP / np.pi * np.sqrt(rate)
    resistance, inductance = coil.resistance_ohm, coil.inductance_h
    if k:
        below = float(rate[0]) * float(np.exp(-_LADDER_LOG_STEP / 2))
        above = float(rate[-1]) * float(np.exp(_LADDER_LOG_STEP / 2))
        resistance += 2 * k * float(np.sqrt(below)) / np.pi
        inductance += 2 * k / float(np.sqrt(above)) / np.pi
    return Ladder(
        resistance_ohm=resistance,
        inductance_h=max(inductance, least),
        rate_rad_s=rate,
        branch_ohm=branch,
    )


def _admittance(coil: Coil) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Corner rates of zeros and poles of 1/Z, and its factor at high frequency."""
    ladder = coil_ladder(coil)
    if ladder.inductance_h <= coil.resistance_ohm / _BEYOND_RAD_S:
        return ladder.rate_rad_s, np.zeros(0), 1 / ladder.resistance_ohm
    poles = np.sort(-np.linalg.eigvalsh(ladder.states)).astype(np.float64)
    return ladder.rate_rad_s, poles, 1 / ladder.inductance_h


def coil_current_stages(coil: Coil) -> tuple[Stage, ...]:
    """Current per volt, 1/Z, as stages.

    Parameters
    ----------
    coil : Coil

    Returns
    -------
    tuple of Stage
        Their product is within 1 % and 0.5 degrees of 1/Z from 20 Hz to 20 kHz. [A/V]
    """
    zeros, poles, factor = _admittance(coil)
    if not len(poles):
        return (Stage.constant("coil", factor),)
    return slow_apart(-zeros.astype(np.complex128), -poles.astype(np.complex128), factor)


def slow_apart(
    zeros_rad_s: NDArray[np.complex128], poles_rad_s: NDArray[np.complex128], gain: float
) -> tuple[Stage, ...]:
    """Make the slow part of the eddy currents a stage of its own: loops run slow ones as filters.

    Parameters
    ----------
    zeros_rad_s, poles_rad_s : complex arrays
        Of a current per volt, in the left half of the s plane. [rad/s]
    gain : float

    Returns
    -------
    tuple of Stage
    """
    is_slow = [
        (np.abs(roots) < _SLOW_RAD_S) & (roots.imag == 0) for roots in (zeros_rad_s, poles_rad_s)
    ]
    count = int(min(flags.sum() for flags in is_slow))
    (slow_zeros, zeros), (slow_poles, poles) = (
        _parted(roots, flags, count)
        for roots, flags in zip((zeros_rad_s, poles_rad_s), is_slow, strict=True)
    )
    main = Stage(name="coil", zeros_rad_s=zeros, poles_rad_s=poles, gain=gain)
    if not count:
        return (main,)
    return (main, Stage(name="eddy currents", zeros_rad_s=slow_zeros, poles_rad_s=slow_poles))


def _parted(
    roots: NDArray[np.complex128], is_slow: NDArray[np.bool_], count: int
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """The slowest `count` of the slow roots, and all others."""
    slow = np.nonzero(is_slow)[0]
    chosen = slow[np.argsort(np.abs(roots[slow]))][:count]
    return roots[chosen], np.delete(roots, chosen)
