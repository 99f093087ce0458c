"""Force between a coil and a cylindrical magnet on one axis.

A cylinder magnetised along its axis acts like a thin solenoid on its side with ``B_r/µ0`` amperes
per metre. Two coaxial loops of radii a and b at a distance z have the mutual inductance

    M = µ0 √(a b) ((2/k - k) K - (2/k) E),   k² = 4 a b/((a + b)² + z²),

with the complete elliptic integrals K and E of modulus k, and pull on each other with i i' dM/dz
(J. C. Maxwell, A Treatise on Electricity and Magnetism, 1873, art. 701; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ellipe, ellipk

from modewright.transducers.gap import MU_0

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["RingCoil", "RoundMagnet", "force_factor_n_per_a", "loop_force_n_per_a2"]

_POINTS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundMagnet:
    """Cylinder magnetised along its axis.

    Parameters
    ----------
    radius_m, length_m : float
        [m]
    remanence_t : float
        Its recoil permeability is taken for that of air. [T]
    """

    radius_m: float
    length_m: float
    remanence_t: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RingCoil:
    """Winding of rectangular section.

    Parameters
    ----------
    inner_radius_m, outer_radius_m, length_m : float
        [m]
    turns : int
    """

    inner_radius_m: float
    outer_radius_m: float
    length_m: float
    turns: int


def loop_force_n_per_a2(
    first_m: NDArray[np.float64], second_m: NDArray[np.float64], distance_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Pull of two coaxial loops per product of their currents, -dM/dz.

    Parameters
    ----------
    first_m, second_m : float arrays
        Radii. [m]
    distance_m : float array
        Between their planes, not zero for equal radii. [m]

    Returns
    -------
    float array
        > 0 where equal currents at a positive distance attract. [N/A²]
    """
    modulus2 = 4 * first_m * second_m / ((first_m + second_m) ** 2 + distance_m**2)
    bracket = (2 - modulus2) / (1 - modulus2) * ellipe(modulus2) - 2 * ellipk(modulus2)
    force = MU_0 * distance_m * np.sqrt(modulus2 / (first_m * second_m)) / 4 * bracket
    return np.asarray(force, dtype=np.float64)


def force_factor_n_per_a(magnet: RoundMagnet, coil: RingCoil, gap_m: float) -> float:
    """Force between magnet and coil per ampere.

    Parameters
    ----------
    magnet : RoundMagnet
    coil : RingCoil
        On the same axis.
    gap_m : float
        Between their facing ends; negative where the magnet dips into the bore. [m]

    Returns
    -------
    float
        [N/A]
    """
    nodes, weights = np.polynomial.legendre.leggauss(_POINTS)
    share, part = (nodes + 1) / 2, weights / 2
    ring_m = coil.inner_radius_m + (coil.outer_radius_m - coil.inner_radius_m) * share
    distance_m = gap_m + magnet.length_m * share[:, None] + coil.length_m * share
    per_loop = loop_force_n_per_a2(
        np.full((1, 1, 1), magnet.radius_m), ring_m[:, None, None], distance_m[None]
    )
    mean = float(np.einsum("i,j,k,ijk->", part, part, part, per_loop))
    return magnet.remanence_t / MU_0 * magnet.length_m * coil.turns * mean
