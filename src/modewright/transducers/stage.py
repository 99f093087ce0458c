"""One linear stage of the signal path: zeros, poles, gain and delay.

Pickup, preamplifier, filters, converters, amplifier and coil are each one `Stage`; the path from
the resonator to the controller and back is a tuple of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Stage", "high_pass", "low_pass", "path_response"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stage:
    """Transfer function ``gain Π(s - z)/Π(s - p) exp(-s delay)``.

    Parameters
    ----------
    name : str
        What it stands for, such as ``bias corner``.
    zeros_rad_s, poles_rad_s : complex arrays
        Roots in the s plane, complex ones in conjugate pairs; poles in the open left half. [rad/s]
    gain : float
        Factor in front; carries the unit of the stage.
    delay_s : float
        Pure delay, >= 0. [s]
    """

    name: str
    zeros_rad_s: NDArray[np.complex128]
    poles_rad_s: NDArray[np.complex128]
    gain: float = 1.0
    delay_s: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "zeros_rad_s", frozen_array(self.zeros_rad_s, complex))
        object.__setattr__(self, "poles_rad_s", frozen_array(self.poles_rad_s, complex))
        if np.any(self.poles_rad_s.real >= 0):
            raise ValueError(f"stage {self.name}: expected poles with negative real part")
        if len(self.zeros_rad_s) > len(self.poles_rad_s):
            raise ValueError(f"stage {self.name}: expected no more zeros than poles")

    @classmethod
    def constant(cls, name: str, gain: float = 1.0, delay_s: float = 0.0) -> Stage:
        """Stage without dynamics except a pure delay."""
        return cls(
            name=name,
            zeros_rad_s=np.zeros(0, complex),
            poles_rad_s=np.zeros(0, complex),
            gain=gain,
            delay_s=delay_s,
        )

    def only_delay(self) -> Stage:
        """The pure delay of this stage, without its dynamics."""
        return Stage.constant(f"{self.name}: delay", delay_s=self.delay_s)

    def at(self, s_rad_s: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Transfer function at places of the s plane, such as the pole of a mode. [rad/s]"""
        value = np.asarray(self.gain * np.exp(-s_rad_s * self.delay_s), dtype=np.complex128)
        for zero in self.zeros_rad_s:
            value = value * (s_rad_s - zero)
        for pole in self.poles_rad_s:
            value = value / (s_rad_s - pole)
        return value

    def response(self, freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Complex gain at each frequency.

        Parameters
        ----------
        freq_hz : float array, any shape
            Frequencies. [Hz]

        Returns
        -------
        complex array of that shape
        """
        return self.at(np.asarray(2j * np.pi * np.asarray(freq_hz), dtype=np.complex128))


def high_pass(name: str, corner_rad_s: float, gain: float = 1.0) -> Stage:
    """First-order stage ``gain s/(s + corner)``. [rad/s]"""
    return Stage(
        name=name,
        zeros_rad_s=np.zeros(1, complex),
        poles_rad_s=np.array([-corner_rad_s + 0j]),
        gain=gain,
    )


def low_pass(name: str, corner_rad_s: float) -> Stage:
    """First-order stage ``corner/(s + corner)`` of unit gain below the corner. [rad/s]"""
    return Stage(
        name=name,
        zeros_rad_s=np.zeros(0, complex),
        poles_rad_s=np.array([-corner_rad_s + 0j]),
        gain=corner_rad_s,
    )


def path_response(
    stages: tuple[Stage, ...], freq_hz: NDArray[np.float64]
) -> NDArray[np.complex128]:
    """Product of the responses of all stages at each frequency. [Hz]"""
    value = np.ones(np.shape(freq_hz), dtype=complex)
    for stage in stages:
        value = value * stage.response(freq_hz)
    return value
