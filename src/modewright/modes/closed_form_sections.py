"""Twisting of bars and bending of tapered strips in closed form."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq
from scipy.special import ive, jv

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.materials.solid import IsotropicSolid

__all__ = [
    "taper_roots",
    "torsion_constant_m4",
    "torsion_freq_hz",
]


def torsion_constant_m4(one_side_m: float, other_side_m: float) -> float:
    """Torsion constant of a rectangle. [m⁴]

    Parameters
    ----------
    one_side_m, other_side_m : float
        Sides, in either order, > 0. [m]

    Returns
    -------
    float
        a b³ (1/3 - (64 b/(π⁵ a)) Σ tanh(n π a/(2 b))/n⁵), n odd, a >= b. [m⁴]

    Notes
    -----
    For even twist, that is a bar whose ends may warp. The polar moment of area, 19 % larger for a
    square, is not it.

    References
    ----------
    S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, sec. 109.

    Examples
    --------
    >>> round(torsion_constant_m4(1.0, 1.0), 6)
    0.140577
    """
    a, b = max(one_side_m, other_side_m), min(one_side_m, other_side_m)
    n = np.arange(1, 60, 2)
    series = float(np.sum(np.tanh(n * math.pi * a / (2 * b)) / n**5.0))
    return a * b**3 * (1 / 3 - 64 * b / (math.pi**5 * a) * series)


def torsion_freq_hz(
    solid: IsotropicSolid, width_m: float, thickness_m: float, length_m: float, count: int
) -> NDArray[np.float64]:
    """Twisting frequencies of a rectangular bar with one end held and the other free. [Hz]

    Parameters
    ----------
    solid : IsotropicSolid
    width_m, thickness_m, length_m : float
        [m]
    count : int
        Number of modes.

    Returns
    -------
    float array, shape (count,)
        (2 n - 1)/(4 L) sqrt(G J/(ρ I_p)). [Hz]

    Notes
    -----
    Warping is taken as free. A wide strip in a clamp is several per cent sharper.

    References
    ----------
    R. D. Blevins, Formulas for Natural Frequency and Mode Shape, 1979, table 8-19 (from memory).
    """
    polar_m4 = width_m * thickness_m * (width_m**2 + thickness_m**2) / 12
    stiffness = solid.shear_modulus_pa * torsion_constant_m4(width_m, thickness_m)
    speed = math.sqrt(stiffness / (solid.density_kg_per_m3 * polar_m4))
    quarter_waves = np.arange(1.0, 2.0 * count, 2.0)
    return quarter_waves * (speed / (4 * length_m))


def taper_roots(count: int, *, width_tapers: bool) -> NDArray[np.float64]:
    """Frequencies of a slender clamped strip whose thickness falls evenly to nothing at the tip.

    Parameters
    ----------
    count : int
        Number of modes.
    width_tapers : bool
        False for a wedge of even width; True if the width falls to nothing as well.

    Returns
    -------
    float array, shape (count,)
        ω L² sqrt(ρ A/(E I)) with the section at the root of the strip.

    References
    ----------
    G. Kirchhoff, Monatsber. Akad. Wiss. Berlin (1879); R. D. Blevins, Formulas for Natural
    Frequency and Mode Shape, 1979, table 8-10. In z = 2 (ω L² sqrt(ρ A/(E I)))^(1/2) the equation
    is J_n(z) I_(n+1)(z) + I_n(z) J_(n+1)(z) = 0 with n = 1 for the wedge and 2 for the cone.
    """
    order = 2 if width_tapers else 1

    def equation(z: float) -> float:
        # ive and jv share the growth exp(z), which is left out.
        return float(jv(order, z) * ive(order + 1, z) + ive(order, z) * jv(order + 1, z))

    scan = np.arange(1.0, (count + 2) * math.pi + order * 2, 0.1)
    values = np.array([equation(z) for z in scan])
    starts = np.flatnonzero(values[:-1] * values[1:] < 0)[:count]
    roots = np.array(
        [brentq(equation, float(scan[i]), float(scan[i + 1]), xtol=1e-13) for i in starts]
    )
    return roots**2 / 4
