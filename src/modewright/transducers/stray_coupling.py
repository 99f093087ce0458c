"""How a driver's winding reaches a pickup besides through the body, estimated from geometry.

Both estimates are those of free space with nothing earthed nearby and the worst orientation: the
sheet, a ground plane or a screen lowers the electric one, iron that leads the flux away from the
sheet raises the magnetic one. A measured value goes into the design file.

References
----------
W. R. Smythe, Static and Dynamic Electricity, 3rd ed. (from memory): a disc has 8 ε0 a; two
conductors far apart have C1 C2/(4π ε0 d) between them. J. D. Jackson, Classical Electrodynamics,
3rd ed.: field of a magnetic dipole on its axis, μ0 m/(2π d³), sec. 5.6; a field between two plates
falls off as exp(-π x/g), sec. 2.10 (sections from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.constants import epsilon_0, mu_0

if TYPE_CHECKING:
    from modewright.transducers.guard import Guard

__all__ = ["dipole_mutual_inductance_h", "disc_mutual_capacitance_f", "guard_residue"]


def disc_mutual_capacitance_f(first_area_m2: float, second_area_m2: float, apart_m: float) -> float:
    """Capacitance between two small faces far apart, each taken as a disc of its area.

    Parameters
    ----------
    first_area_m2, second_area_m2 : float
        [m²]
    apart_m : float
        Between their centres; no less than the sum of their radii is used. [m]

    Returns
    -------
    float
        16 ε0 a b/(π d): within 10 % from three diameters apart on. [F]
    """
    first_m, second_m = np.sqrt(first_area_m2 / np.pi), np.sqrt(second_area_m2 / np.pi)
    distance_m = max(apart_m, first_m + second_m)
    return float(16 * epsilon_0 * first_m * second_m / (np.pi * distance_m))


def dipole_mutual_inductance_h(
    turns: int, coil_area_m2: float, loop_area_m2: float, apart_m: float
) -> float:
    """Mutual inductance of a winding and a small loop on its axis.

    Parameters
    ----------
    turns : int
        Of the winding.
    coil_area_m2, loop_area_m2 : float
        [m²]
    apart_m : float
        Between centres; no less than the radius of the winding is used. [m]

    Returns
    -------
    float
        μ0 N A a/(2π d³). [H]
    """
    distance_m = max(apart_m, float(np.sqrt(coil_area_m2 / np.pi)))
    return float(mu_0 * turns * coil_area_m2 * loop_area_m2 / (2 * np.pi * distance_m**3))


def guard_residue(guard: Guard | None, gap_m: float) -> float:
    """Share of an outside electric field that gets under a guard as far as the plate.

    Parameters
    ----------
    guard : Guard or None
        One as wide as the gap if None, for comparison.
    gap_m : float
        Between sheet and guard. [m]

    Returns
    -------
    float
        exp(-π w/g). What comes from behind the board needs copper there.
    """
    width_m = gap_m if guard is None else guard.width_m
    return float(np.exp(-np.pi * width_m / gap_m))
