"""Slender uniform beams in closed form, for first-cut sizing and as a check of the solid solver.

Shear and rotary inertia are left out: the first mode of a free bar of length/thickness 10 comes out
60 cents sharp, the third 285 (ν = 0.3, shear factor 5/6). Use `closed_form_timoshenko` for
anything stouter than 1 in 50.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np
from scipy.optimize import brentq

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.materials.solid import IsotropicSolid

__all__ = [
    "BeamEnds",
    "beam_roots",
    "fork_freq_hz",
    "strip_freq_hz",
    "tip_mass_roots",
    "youngs_modulus_of_free_bar_pa",
]

BeamEnds = Literal[
    "clamped-free", "free-free", "clamped-clamped", "clamped-pinned", "pinned-pinned"
]


# Each equation is divided by cosh, so that it stays of order one for any root.
def _clamped_free(root: float) -> float:
    return math.cos(root) + 1 / math.cosh(root)


def _free_free(root: float) -> float:
    return math.cos(root) - 1 / math.cosh(root)


def _clamped_pinned(root: float) -> float:
    return math.sin(root) - math.cos(root) * math.tanh(root)


def _pinned_pinned(root: float) -> float:
    return math.sin(root)


# Equation, and the offset o with which root n lies within ±π/4 of (n + o) π.
_EQUATIONS: dict[BeamEnds, tuple[Callable[[float], float], float]] = {
    "clamped-free": (_clamped_free, -0.5),
    "free-free": (_free_free, 0.5),
    "clamped-clamped": (_free_free, 0.5),
    "clamped-pinned": (_clamped_pinned, 0.25),
    "pinned-pinned": (_pinned_pinned, 0.0),
}


def beam_roots(ends: BeamEnds, count: int) -> NDArray[np.float64]:
    """Roots λ of the frequency equation of a slender uniform beam.

    Parameters
    ----------
    ends : str
        How it is held.
    count : int
        Number of roots, from the lowest; rigid-body motions are left out.

    Returns
    -------
    float array, shape (count,)
        λ = L (ρ A ω²/(E I))^(1/4).

    References
    ----------
    R. D. Blevins, Formulas for Natural Frequency and Mode Shape, 1979, table 8-1.

    Examples
    --------
    >>> beam_roots("clamped-free", 3).round(5).tolist()
    [1.8751, 4.69409, 7.85476]
    """
    equation, offset = _EQUATIONS[ends]
    centres = (np.arange(1, count + 1) + offset) * math.pi
    brackets = zip(centres - math.pi / 4, centres + math.pi / 4, strict=True)
    return np.array([brentq(equation, low, high, xtol=1e-13) for low, high in brackets])


def tip_mass_roots(mass_ratio: float, count: int) -> NDArray[np.float64]:
    """Roots λ of a slender clamped strip with a point mass at its tip.

    Parameters
    ----------
    mass_ratio : float
        Tip mass over the mass of the strip, >= 0; its rotary inertia is left out.
    count : int
        Number of roots.

    Returns
    -------
    float array, shape (count,)

    Raises
    ------
    ValueError
        For a negative mass.

    References
    ----------
    I. A. Karnovsky and O. I. Lebed, Formulas for Structural Dynamics, sec. 7.5:
    1 + cos λ cosh λ = µ λ (sin λ cosh λ - cos λ sinh λ).
    """
    if not mass_ratio >= 0:
        raise ValueError(f"mass_ratio: expected 0 or above, got {mass_ratio}")

    def equation(root: float) -> float:
        inertia = math.sin(root) - math.cos(root) * math.tanh(root)
        return 1 / math.cosh(root) + math.cos(root) - mass_ratio * root * inertia

    # The mass lowers each root of the bare strip, but not below that of a strip pinned at its tip.
    upper = beam_roots("clamped-free", count)
    lower = np.concatenate([[0.0], beam_roots("clamped-pinned", count)[:-1]])
    brackets = zip(lower, upper + 1e-9, strict=True)
    return np.array([brentq(equation, low, high, xtol=1e-13) for low, high in brackets])


def strip_freq_hz(
    roots: NDArray[np.float64], solid: IsotropicSolid, length_m: float, thickness_m: float
) -> NDArray[np.float64]:
    """Bending frequencies of a slender strip of even thickness. [Hz]

    Parameters
    ----------
    roots : float array
        From `beam_roots` or `tip_mass_roots`.
    solid : IsotropicSolid
    length_m, thickness_m : float
        [m]

    Returns
    -------
    float array
        λ² t/(2 π L² sqrt(12)) sqrt(E/ρ). [Hz]

    Notes
    -----
    For a strip narrow against its length. A wide one is stiffer, by up to 1/sqrt(1 - ν²).

    References
    ----------
    R. D. Blevins, Formulas for Natural Frequency and Mode Shape, 1979, table 8-1.
    """
    speed = math.sqrt(solid.youngs_modulus_pa / solid.density_kg_per_m3)
    return roots**2 * thickness_m * speed / (2 * math.pi * length_m**2 * math.sqrt(12))


def fork_freq_hz(solid: IsotropicSolid, prong_length_m: float, prong_thickness_m: float) -> float:
    """First frequency of a tuning fork whose prongs move as clamped strips. [Hz]

    Parameters
    ----------
    solid : IsotropicSolid
    prong_length_m : float
        From the crotch to the tip. [m]
    prong_thickness_m : float
        In the direction of motion. [m]

    Returns
    -------
    float
        0.1615 t/L² sqrt(E/ρ). [Hz]

    Notes
    -----
    Two per cent at best: the crotch gives way.

    References
    ----------
    T. D. Rossing, D. A. Russell and D. E. Brown, On the acoustics of tuning forks, Am. J. Phys. 60
    (1992) 620.
    """
    first = beam_roots("clamped-free", 1)
    return float(strip_freq_hz(first, solid, prong_length_m, prong_thickness_m)[0])


def youngs_modulus_of_free_bar_pa(
    *,
    mass_kg: float,
    freq_hz: float,
    width_m: float,
    length_m: float,
    thickness_m: float,
    poisson_ratio: float,
) -> float:
    """Young's modulus from the first bending frequency of a free rectangular bar. [Pa]

    Parameters
    ----------
    mass_kg : float
        Of the bar. [kg]
    freq_hz : float
        First bending mode, measured. [Hz]
    width_m, length_m, thickness_m : float
        The thickness lies in the direction of motion. [m]
    poisson_ratio : float
        Assumed.

    Returns
    -------
    float
        [Pa]

    Notes
    -----
    The correction for thickness is fitted: 0.2 % at length/thickness 5, 0.02 % at 20.

    References
    ----------
    ASTM E1876, eqs. 1 and 2; S. Spinner and W. E. Tefft, Proc. ASTM 61 (1961) 1221.
    """
    slim = (thickness_m / length_m) ** 2
    nu = poisson_ratio
    correction = (
        1
        + 6.585 * (1 + 0.0752 * nu + 0.8109 * nu**2) * slim
        - 0.868 * slim**2
        - 8.340
        * (1 + 0.2023 * nu + 2.173 * nu**2)
        * slim**2
        / (1 + 6.338 * (1 + 0.1408 * nu + 1.536 * nu**2) * slim)
    )
    return 0.9465 * mass_kg * freq_hz**2 / width_m * (length_m / thickness_m) ** 3 * correction
