"""Exact sampled form of modes and of slow stages.

A mode driven by a held input is a complex rotation: with ``p = -ζω + jω√(1-ζ²)`` and the state
``Z`` whose real part is the motion,

    Z[k+1] = λ Z[k] + g u[k],      λ = exp(p T),      g = (λ - 1) r/p · 2 φ,

r = 1/(p - p̄) being the residue of 1/((s - p)(s - p̄)) (partial fractions; step-invariant
transformation, Franklin, Powell & Workman, Digital Control of Dynamic Systems, ch. 4). The fast
stages around the body are linear, so the residue of the whole path at p is r times the transfer
functions of the stages at p: they are folded into the gains without error in frequency or decay.
What is left out are the responses at the stages' own poles, which die out within a few samples.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from scipy import signal

from modewright.checks import frozen_array

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.transducers.stage import Stage

__all__ = [
    "Sections",
    "held_input_gain",
    "mode_pole_rad_s",
    "sections_from_stages",
    "split_by_speed",
]

# A stage slower than this fraction of the sampling rate is run as digital sections: its own
# response is long enough to matter. Everything faster is folded into the modal residues.
_SLOW_FRACTION = 0.05


def mode_pole_rad_s(
    omega_rad_s: NDArray[np.float64], damping_ratio: NDArray[np.float64]
) -> NDArray[np.complex128]:
    """Upper pole of each mode in the s plane. [rad/s]"""
    real = -damping_ratio * omega_rad_s
    return real + 1j * omega_rad_s * np.sqrt(1 - damping_ratio**2)


def held_input_gain(pole_rad_s: NDArray[np.complex128], rate_hz: float) -> NDArray[np.complex128]:
    """Response of the motion state of unit-mass modes to a force held for one sample.

    Parameters
    ----------
    pole_rad_s : complex array, shape (modes,)
        From `mode_pole_rad_s`. [rad/s]
    rate_hz : float
        Sampling rate. [Hz]

    Returns
    -------
    complex array, shape (modes,)
        ``2 r (λ - 1)/p``; the motion is the real part of the state. [m sqrt(kg) per N/sqrt(kg)]
    """
    residue = 1 / (pole_rad_s - np.conj(pole_rad_s))
    return 2 * residue * np.expm1(pole_rad_s / rate_hz) / pole_rad_s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sections:
    """Cascade of second-order digital sections.

    Parameters
    ----------
    sos : float array, shape (sections, 6)
        Rows b0, b1, b2, 1, a1, a2, as scipy orders them.
    """

    sos: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "sos", frozen_array(self.sos).reshape(-1, 6))

    def at(self, z: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Transfer function at places of the z plane."""
        value = np.ones(np.shape(z), dtype=np.complex128)
        for b0, b1, b2, a0, a1, a2 in self.sos:
            value = value * ((b0 * z + b1) * z + b2) / ((a0 * z + a1) * z + a2)
        return value


def split_by_speed(
    stages: tuple[Stage, ...], rate_hz: float
) -> tuple[tuple[Stage, ...], tuple[Stage, ...]]:
    """Separate the stages into those folded into the modes and those run as sections.

    Returns
    -------
    tuple of two tuples of Stage
        Fast ones with all delays, those of slow stages as stages of their own; slow ones without.
    """
    limit_rad_s = 2 * np.pi * _SLOW_FRACTION * rate_hz
    fast: list[Stage] = []
    slow: list[Stage] = []
    for stage in stages:
        if not len(stage.poles_rad_s) or np.abs(stage.poles_rad_s).max() >= limit_rad_s:
            fast.append(stage)
            continue
        slow.append(replace(stage, delay_s=0.0) if stage.delay_s else stage)
        if stage.delay_s:
            fast.append(stage.only_delay())
    return tuple(fast), tuple(slow)


# The stubs of scipy deny complex roots, which the function takes.
_zpk2sos = cast("Callable[[Any, Any, Any], NDArray[np.float64]]", signal.zpk2sos)


def sections_from_stages(stages: tuple[Stage, ...], rate_hz: float) -> Sections:
    """Sample slow stages by the bilinear transformation.

    Below a twentieth of the rate its frequency warp is under 1 % (Franklin, Powell & Workman,
    ch. 6). Far above the stage's poles it is not: the gains of the plant's modes make up for it.

    Raises
    ------
    ValueError
        If a stage carries a pure delay; delays belong to the delay line.
    """
    rows: list[NDArray[np.float64]] = []
    for stage in stages:
        if stage.delay_s:
            raise ValueError(f"stage {stage.name}: a slow stage cannot carry a delay")
        sampled = signal.bilinear_zpk(stage.zeros_rad_s, stage.poles_rad_s, stage.gain, rate_hz)
        rows.append(_zpk2sos(*sampled))
    return Sections(sos=np.concatenate(rows) if rows else np.zeros((0, 6)))
