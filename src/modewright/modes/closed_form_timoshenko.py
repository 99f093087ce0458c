"""Uniform beams with shear and rotary inertia, exactly solved.

The shape is a sum of two standing waves and two edge waves, each edge wave measured from its own
end, so that the determinant of the end conditions keeps its accuracy for any mode.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from scipy.optimize import brentq

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.materials.solid import IsotropicSolid

__all__ = ["BeamEnd", "BeamSection", "beam_freq_hz", "rectangle_shear_factor"]

BeamEnd = Literal["clamped", "free", "pinned"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BeamSection:
    """Cross-section of a beam.

    Parameters
    ----------
    area_m2 : float
        A. [m²]
    inertia_m4 : float
        I, second moment of area for the bending considered. [m⁴]
    shear_factor : float
        κ, such as 5/6 or `rectangle_shear_factor`.
    """

    area_m2: float
    inertia_m4: float
    shear_factor: float

    @classmethod
    def rectangle(cls, width_m: float, thickness_m: float, shear_factor: float) -> BeamSection:
        """Rectangle bent in the direction of its thickness."""
        area_m2 = width_m * thickness_m
        return cls(
            area_m2=area_m2, inertia_m4=area_m2 * thickness_m**2 / 12, shear_factor=shear_factor
        )


def rectangle_shear_factor(poisson_ratio: float) -> float:
    """Shear factor of a rectangle, 10 (1 + ν)/(12 + 11 ν).

    References
    ----------
    G. R. Cowper, The shear coefficient in Timoshenko's beam theory, J. Appl. Mech. 33 (1966) 335.
    """
    return 10 * (1 + poisson_ratio) / (12 + 11 * poisson_ratio)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Waves:
    """Wave numbers at one frequency, and slope over deflection of each kind of wave."""

    standing_per_m: float
    edge_per_m: float
    standing_slope_per_m: float
    edge_slope_per_m: float


def _waves(omega_rad_s: float, solid: IsotropicSolid, section: BeamSection) -> _Waves:
    # E I ψ'' + κ G A (w' - ψ) + ρ I ω² ψ = 0 and κ G A (w'' - ψ') + ρ A ω² w = 0 with w = exp(s x)
    # give s⁴ + (p + r) s² + p r - q = 0 and ψ/w = (s² + p)/s.
    inertia = solid.density_kg_per_m3 * omega_rad_s**2
    p = inertia / (section.shear_factor * solid.shear_modulus_pa)
    r = inertia / solid.youngs_modulus_pa
    q = inertia * section.area_m2 / (solid.youngs_modulus_pa * section.inertia_m4)
    root = math.sqrt(((p - r) / 2) ** 2 + q)
    standing = math.sqrt(root + (p + r) / 2)
    edge = math.sqrt(root - (p + r) / 2)
    return _Waves(
        standing_per_m=standing,
        edge_per_m=edge,
        standing_slope_per_m=(standing**2 - p) / standing,
        edge_slope_per_m=(edge**2 + p) / edge,
    )


def _end_rows(end: BeamEnd, waves: _Waves, x_m: float, length_m: float) -> NDArray[np.float64]:
    """Two conditions at one end, over the amplitudes of cos, sin and the two edge waves."""
    a, b = waves.standing_per_m, waves.edge_per_m
    slope_a, slope_b = waves.standing_slope_per_m, waves.edge_slope_per_m
    cos, sin = math.cos(a * x_m), math.sin(a * x_m)
    left, right = math.exp(-b * x_m), math.exp(-b * (length_m - x_m))
    deflection = np.array([cos, sin, left, right])
    tilt = np.array([-slope_a * sin, slope_a * cos, -slope_b * left, slope_b * right])
    curvature = np.array(
        [-a * slope_a * cos, -a * slope_a * sin, b * slope_b * left, b * slope_b * right]
    )
    gradient = np.array([-a * sin, a * cos, -b * left, b * right])
    conditions = {
        "clamped": (deflection, tilt),
        "pinned": (deflection, curvature),
        "free": (curvature, gradient - tilt),
    }[end]
    return np.array([row / np.abs(row).max() for row in conditions])


def beam_freq_hz(
    ends: tuple[BeamEnd, BeamEnd],
    solid: IsotropicSolid,
    section: BeamSection,
    length_m: float,
    count: int,
) -> NDArray[np.float64]:
    """Bending frequencies of a uniform beam with shear and rotary inertia. [Hz]

    Parameters
    ----------
    ends : pair of str
        How each end is held.
    solid : IsotropicSolid
    section : BeamSection
    length_m : float
        [m]
    count : int
        Number of modes, from the lowest; rigid-body motions are left out.

    Returns
    -------
    float array, shape (count,)
        [Hz]

    Raises
    ------
    ValueError
        If fewer modes lie below the frequency at which shear waves stand across the thickness,
        where the theory ends.

    References
    ----------
    S. P. Timoshenko, Phil. Mag. 41 (1921) 744 and 43 (1922) 125; end conditions as in
    T. C. Huang, J. Appl. Mech. 28 (1961) 579.
    """
    limit = math.sqrt(
        section.shear_factor
        * solid.shear_modulus_pa
        * section.area_m2
        / (solid.density_kg_per_m3 * section.inertia_m4)
    )

    def determinant(omega_rad_s: float) -> float:
        waves = _waves(omega_rad_s, solid, section)
        rows = [
            _end_rows(ends[0], waves, 0.0, length_m),
            _end_rows(ends[1], waves, length_m, length_m),
        ]
        return float(np.linalg.det(np.vstack(rows)))

    found = _first_roots(determinant, _scan(solid, section, length_m, count, limit), count)
    if len(found) < count:
        raise ValueError(
            f"count: expected at most {len(found)} modes below {limit / (2 * math.pi):.0f} Hz,"
            f" got {count}"
        )
    return found / (2 * math.pi)


def _scan(
    solid: IsotropicSolid, section: BeamSection, length_m: float, count: int, limit: float
) -> NDArray[np.float64]:
    """Frequencies dense enough to part neighbouring roots, from well below the first. [rad/s]"""
    stiffness = solid.youngs_modulus_pa * section.inertia_m4
    slender = math.sqrt(stiffness / (solid.density_kg_per_m3 * section.area_m2)) / length_m**2
    highest = min(0.9999 * limit, slender * ((count + 2) * math.pi) ** 2)
    # Even steps of the square root of frequency are even steps of phase along the beam.
    steps = 40 * (count + 2)
    return np.linspace(math.sqrt(0.25 * slender), math.sqrt(highest), steps) ** 2


def _first_roots(
    function: Callable[[float], float], scan: NDArray[np.float64], count: int
) -> NDArray[np.float64]:
    values = [function(x) for x in scan]
    roots: list[float] = []
    for low, high, before, after in zip(scan, scan[1:], values, values[1:], strict=False):
        if before * after < 0:
            roots.append(brentq(function, low, high, xtol=1e-12 * high, rtol=1e-14))
        if len(roots) == count:
            break
    return np.array(roots)
