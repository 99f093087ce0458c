"""Analogue low-pass filters before the input converter and behind the output converter.

A Butterworth filter keeps the band flat; a Bessel filter delays all of it alike and less at its
upper end, and lets more of what lies above through.

References
----------
S. Butterworth, On the theory of filter amplifiers, Wireless Engineer 7 (1930) 536. W. E. Thomson,
Delay networks having maximally flat frequency characteristics, Proc. IEE 96 (1949) 487.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.polynomial import polynomial
from scipy.optimize import brentq
from scipy.special import factorial

from modewright.transducers.stage import Stage

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["FILTERS", "low_pass_filter"]

FILTERS = ("Butterworth", "Bessel")


def low_pass_filter(name: str, kind: str, order: int, corner_hz: float) -> Stage:
    """Low-pass filter of unit gain at rest, 3 dB down at its corner.

    Parameters
    ----------
    name : str
        Of the stage.
    kind : {"Butterworth", "Bessel"}
    order : int
        1 to 8.
    corner_hz : float
        [Hz]

    Returns
    -------
    Stage
    """
    corner = 2 * np.pi * corner_hz
    if kind == "Butterworth":
        angle = np.pi * (2 * np.arange(1, order + 1) + order - 1) / (2 * order)
        poles = np.asarray(corner * np.exp(1j * angle), dtype=np.complex128)
        gain = corner**order
    else:
        poles = corner * _bessel_poles(order)
        gain = float(np.prod(-poles).real)
    return Stage(name=name, zeros_rad_s=np.zeros(0, complex), poles_rad_s=poles, gain=gain)


def _bessel_poles(order: int) -> NDArray[np.complex128]:
    """Roots of the reverse Bessel polynomial Σ (2n-k)!/(2^(n-k) k! (n-k)!) s^k, 3 dB at 1 rad/s."""
    k = np.arange(order + 1)
    coefficient = factorial(2 * order - k) / (
        2.0 ** (order - k) * factorial(k) * factorial(order - k)
    )

    def short_of_half(at_rad_s: float) -> float:
        value = polynomial.polyval(1j * at_rad_s, coefficient)
        return float(np.abs(coefficient[0] / value) ** 2 - 0.5)

    corner = float(brentq(short_of_half, 0.1, 10.0 * order, xtol=1e-14))
    return np.asarray(polynomial.polyroots(coefficient), dtype=np.complex128) / corner
