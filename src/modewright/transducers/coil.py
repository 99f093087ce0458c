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

__all__ = ["Coil", "coil_current_stages", "motional_stage"]

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


def _admittance(coil: Coil) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Corner rates of zeros and poles of 1/Z, and its factor at high frequency.

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
        below = rate[0] * np.exp(-_LADDER_LOG_STEP / 2)
        above = rate[-1] * np.exp(_LADDER_LOG_STEP / 2)
        resistance += 2 * k * float(np.sqrt(below)) / np.pi
        inductance += 2 * k / float(np.sqrt(above)) / np.pi
    if inductance <= least:
        return rate, np.zeros(0), 1 / resistance
    # Symmetric state matrix of the chain in series with R and L: its eigenvalues are the poles.
    matrix = np.diag(-np.concatenate([[(resistance + branch.sum()) / inductance], rate]))
    matrix[0, 1:] = matrix[1:, 0] = np.sqrt(branch * rate / inductance)
    return rate, np.sort(-np.linalg.eigvalsh(matrix)), 1 / inductance


def coil_current_stages(coil: Coil) -> tuple[Stage, ...]:
    """Current per volt, 1/Z, as stages.

    Parameters
    ----------
    coil : Coil

    Returns
    -------
    tuple of Stage
        Their product is within 1 % and 0.5 degrees of 1/Z from 20 Hz to 20 kHz. The slow part of
        the eddy currents is a stage of its own, because loops must run slow stages as filters.
        [A/V]
    """
    zeros, poles, factor = _admittance(coil)
    if not len(poles):
        return (Stage.constant("coil", factor),)
    slow = int(np.sum((zeros < _SLOW_RAD_S) & (poles[:-1] < _SLOW_RAD_S)))
    main = _stage("coil", zeros[slow:], poles[slow:], factor)
    return (main, _stage("eddy currents", zeros[:slow], poles[:slow], 1.0)) if slow else (main,)


def _stage(name: str, zeros: NDArray[np.float64], poles: NDArray[np.float64], gain: float) -> Stage:
    return Stage(
        name=name,
        zeros_rad_s=-zeros.astype(np.complex128),
        poles_rad_s=-poles.astype(np.complex128),
        gain=gain,
    )


def motional_stage(coil: Coil) -> Stage:
    """s/Z: what back-EMF makes of motion, per squared force factor.

    The coil moving at velocity v makes the voltage T v, which drives the current -T v/Z and with
    it the force -T² v/Z: a dynamic stiffness T² s/Z, whose imaginary part is never negative, so
    that a closed circuit only takes energy.
    """
    zeros, poles, factor = _admittance(coil)
    if not len(poles):
        # Pure resistance: give it the corner of an inductance that no mode notices.
        return _stage("back-EMF", np.zeros(1), np.array([_BEYOND_RAD_S]), factor * _BEYOND_RAD_S)
    return _stage("back-EMF", np.concatenate([[0.0], zeros]), poles, factor)
