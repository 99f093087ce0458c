"""Figures of a coil and of its moving part from a measured impedance.

    Z = R + s L + K √s + R_m/(1 + j Q (f/f0 - f0/f))

The last term is the moving part with nothing fixed to it (L. L. Beranek & T. J. Mellow, Acoustics:
Sound Fields, Transducers and Vibration, ch. 6); with its mass m known, ``R_m = T² Q/(m 2π f0)``
gives the force factor T. Confidence follows from the curvature of the sum of squares (G. A. F.
Seber & C. J. Wild, Nonlinear Regression, 1989, ch. 5; from memory): the scatter is taken from the
misfit itself, as an equal share of the impedance at every frequency.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import least_squares, nnls
from scipy.stats import t as student

from modewright.checks import frozen_array
from modewright.errors import TransducerError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Estimate", "FittedDriver", "fit_impedance"]

_CONFIDENCE = 0.95
_LEAST_POINTS = 12
_STARTS_FREQ, _STARTS_Q = 48, np.geomspace(0.5, 200.0, 10)
# Evidence for a resonance that is worth its three numbers: Kass & Raftery, J. Am. Stat. Assoc. 90
# (1995) 773, "very strong" (from memory).
_EVIDENCE = 10.0
_KEYS = ("resistance_ohm", "inductance_h", "semi_inductance_ohm_per_rthz")
_MOTION_KEYS = ("motional_resistance_ohm", "resonance_hz", "mechanical_q")


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One fitted number.

    Parameters
    ----------
    value : float
    half_width : float
        Half of its 95 % confidence interval.
    """

    value: float
    half_width: float

    @property
    def is_told_from_zero(self) -> bool:
        """Whether zero lies outside the interval."""
        return abs(self.value) > self.half_width


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedDriver:
    """What an impedance tells of a driver.

    Parameters
    ----------
    estimates : dict of str to Estimate
        ``resistance_ohm``, ``inductance_h``, ``semi_inductance_ohm_per_rthz``; where a resonance
        shows also ``motional_resistance_ohm``, ``resonance_hz``, ``mechanical_q``, and with the
        moving mass known ``force_factor_n_per_a``. SI units.
    has_resonance : bool
    misfit : float
        Root of the mean square of model less measurement, over the impedance.
    largest_misfit : float
        Over the impedance.
    largest_misfit_hz : float
        Where that is. [Hz]
    model_ohm : complex array, shape (points,)
        [ohm]
    """

    estimates: dict[str, Estimate]
    has_resonance: bool
    misfit: float
    largest_misfit: float
    largest_misfit_hz: float
    model_ohm: NDArray[np.complex128]

    def __post_init__(self) -> None:
        object.__setattr__(self, "model_ohm", frozen_array(self.model_ohm, complex))


def fit_impedance(
    freq_hz: NDArray[np.float64],
    impedance_ohm: NDArray[np.complex128],
    *,
    moving_mass_kg: float | None = None,
) -> FittedDriver:
    """Fit the model to a measured impedance.

    Parameters
    ----------
    freq_hz : float array, shape (points,)
        > 0, rising. [Hz]
    impedance_ohm : complex array, shape (points,)
        Of the driver alone, its moving part free. [ohm]
    moving_mass_kg : float, optional
        > 0. [kg]

    Returns
    -------
    FittedDriver
        The simpler model without resonance unless the other is far more likely.

    Raises
    ------
    TransducerError
        If there are too few points, or they are no impedance of a coil.
    """
    freq_hz = np.asarray(freq_hz, dtype=np.float64)
    _check(freq_hz, impedance_ohm)
    plain = _fitted(freq_hz, impedance_ohm, _start(freq_hz, impedance_ohm, (None, None))[0])
    moving = _fitted(freq_hz, impedance_ohm, _best_start(freq_hz, impedance_ohm))
    has_resonance = bool(_criterion(plain) - _criterion(moving) > _EVIDENCE)
    values, residual, jacobian = moving if has_resonance else plain
    covariance, width = _covariance(residual, jacobian)
    half = width * np.sqrt(np.diag(covariance))
    keys = (*_KEYS, *_MOTION_KEYS) if has_resonance else _KEYS
    estimates = {
        key: Estimate(value=float(v), half_width=float(h))
        for key, v, h in zip(keys, values, half, strict=True)
    }
    if has_resonance and moving_mass_kg is not None:
        estimates["force_factor_n_per_a"] = _force_factor(values, covariance, width, moving_mass_kg)
    apart = np.hypot(*residual.reshape(2, -1))
    worst = int(np.argmax(apart))
    return FittedDriver(
        estimates=estimates,
        has_resonance=has_resonance,
        misfit=float(np.sqrt(np.mean(apart**2))),
        largest_misfit=float(apart[worst]),
        largest_misfit_hz=float(freq_hz[worst]),
        model_ohm=_model(values, freq_hz),
    )


def _check(freq_hz: NDArray[np.float64], impedance_ohm: NDArray[np.complex128]) -> None:
    if len(freq_hz) < _LEAST_POINTS:
        raise TransducerError(
            f"impedance: expected at least {_LEAST_POINTS} frequencies, got {len(freq_hz)}.",
            hint="Measure from well below the resonance to well above it.",
        )
    if np.any(np.diff(freq_hz) <= 0) or freq_hz[0] <= 0:
        raise TransducerError(
            "impedance: expected frequencies above 0 Hz in rising order, got others.",
            hint="Sort the rows by frequency and leave doubles out.",
        )
    below = int(np.argmin(impedance_ohm.real))
    if impedance_ohm.real[below] <= 0:
        raise TransducerError(
            f"impedance: expected a positive resistance at every frequency, got "
            f"{impedance_ohm.real[below]:.4g} ohm at {freq_hz[below]:.4g} Hz.",
            hint="Look at the sign of the phase and at the reference of the measurement.",
        )


def _columns(
    freq_hz: NDArray[np.float64], motion: tuple[float | None, float | None]
) -> NDArray[np.complex128]:
    """What R, L, K and R_m multiply; the last only for a given resonance and Q."""
    s = 2j * np.pi * freq_hz
    columns = [np.ones_like(s), s, np.sqrt(s)]
    resonance_hz, q = motion
    if resonance_hz is not None and q is not None:
        columns.append(1 / (1 + 1j * q * (freq_hz / resonance_hz - resonance_hz / freq_hz)))
    return np.asarray(np.stack(columns, axis=1), dtype=np.complex128)


def _model(values: NDArray[np.float64], freq_hz: NDArray[np.float64]) -> NDArray[np.complex128]:
    motion = (values[4], values[5]) if len(values) > len(_KEYS) else (None, None)
    factors = values[:4] if len(values) > len(_KEYS) else values
    return np.asarray(_columns(freq_hz, motion) @ factors, dtype=np.complex128)


def _start(
    freq_hz: NDArray[np.float64],
    impedance_ohm: NDArray[np.complex128],
    motion: tuple[float | None, float | None],
) -> tuple[NDArray[np.float64], float]:
    """Best non-negative factors for a given resonance, and what is left."""
    weighted = _columns(freq_hz, motion) / np.abs(impedance_ohm)[:, None]
    target = impedance_ohm / np.abs(impedance_ohm)
    stacked = np.concatenate([weighted.real, weighted.imag])
    scale = np.linalg.norm(stacked, axis=0)
    found, rest = nnls(stacked / scale, np.concatenate([target.real, target.imag]))
    return np.asarray(found / scale, dtype=np.float64), float(rest)


def _best_start(
    freq_hz: NDArray[np.float64], impedance_ohm: NDArray[np.complex128]
) -> NDArray[np.float64]:
    every = [
        (*_start(freq_hz, impedance_ohm, (f, q)), f, q)
        for f in np.geomspace(float(freq_hz[0]), float(freq_hz[-1]), _STARTS_FREQ).tolist()
        for q in _STARTS_Q.tolist()
    ]
    factors, _, resonance_hz, q = min(every, key=lambda one: one[1])
    return np.concatenate([factors, [resonance_hz, q]])


def _fitted(
    freq_hz: NDArray[np.float64],
    impedance_ohm: NDArray[np.complex128],
    start: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Values, misfits over the impedance (real parts, then imaginary ones), and their slopes."""
    size = np.abs(impedance_ohm)
    typical_rad_s = 2 * np.pi * float(np.sqrt(freq_hz[0] * freq_hz[-1]))
    ohm = float(np.median(size))
    units = np.array([ohm, ohm / typical_rad_s, ohm / np.sqrt(typical_rad_s)])
    if len(start) > len(_KEYS):
        units = np.concatenate([units, [ohm, start[4], start[5]]])

    def misfit(scaled: NDArray[np.float64]) -> NDArray[np.float64]:
        apart = (_model(scaled * units, freq_hz) - impedance_ohm) / size
        return np.concatenate([apart.real, apart.imag])

    lowest = np.zeros(len(start))
    lowest[len(_KEYS) + 1 :] = 1e-3
    found = least_squares(
        misfit, np.maximum(start / units, lowest), bounds=(lowest, np.inf), x_scale="jac"
    )
    return found.x * units, found.fun, np.asarray(found.jac, dtype=np.float64) / units


def _criterion(
    fit: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
) -> float:
    """Schwarz's criterion: less is likelier (G. Schwarz, Ann. Statist. 6 (1978) 461)."""
    values, residual, _ = fit
    count = len(residual)
    least = np.finfo(float).tiny
    return float(count * np.log(residual @ residual / count + least) + len(values) * np.log(count))


def _covariance(
    residual: NDArray[np.float64], jacobian: NDArray[np.float64]
) -> tuple[NDArray[np.float64], float]:
    """Covariance of the values, and how many standard errors make half an interval."""
    free = len(residual) - jacobian.shape[1]
    scale = np.linalg.norm(jacobian, axis=0)
    if np.any(scale == 0):
        raise TransducerError(
            "impedance: expected points that tell every figure apart, got some that do not.",
            hint="Measure over a wider band, with more points about the resonance.",
        )
    normal = (jacobian / scale).T @ (jacobian / scale)
    inverse = np.asarray(np.linalg.pinv(normal), dtype=np.float64)
    covariance = float(residual @ residual) / free * inverse / np.outer(scale, scale)
    return covariance, float(student.ppf((1 + _CONFIDENCE) / 2, free))


def _force_factor(
    values: NDArray[np.float64],
    covariance: NDArray[np.float64],
    width: float,
    mass_kg: float,
) -> Estimate:
    """T = √(R_m m 2π f0/Q), by the slopes of its logarithm."""
    resistance_ohm, resonance_hz, q = values[3:]
    factor = float(np.sqrt(resistance_ohm * mass_kg * 2 * np.pi * resonance_hz / q))
    slope = np.concatenate([np.zeros(3), 0.5 / values[3:] * [1, 1, -1]])
    return Estimate(
        value=factor, half_width=width * factor * float(np.sqrt(slope @ covariance @ slope))
    )
