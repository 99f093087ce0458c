"""What reaches a pickup without any metal moving: neighbouring plates, and fields of coils."""

from __future__ import annotations

import math

from scipy.constants import epsilon_0, mu_0
from scipy.special import ellipk

__all__ = ["coil_voltage_v_per_a", "plate_capacitance_f"]


def plate_capacitance_f(
    length_m: float, width_m: float, distance_m: float, permittivity: float
) -> float:
    """Capacitance between two equal plates side by side on a board.

    Parameters
    ----------
    length_m : float
        Along which they lie beside each other. [m]
    width_m : float
        Of each, across that. [m]
    distance_m : float
        Between their edges, > 0. [m]
    permittivity : float
        Relative permittivity of the board; the other side is air.

    Returns
    -------
    float
        [F]

    Notes
    -----
    Two coplanar strips on a thick board, C = ε0 (1 + εr)/2 · K(k')/K(k) per length with
    k = s/(s + 2 w). Ends are left out; the sheet above, at rest for signals, takes most of the
    field to itself, so that this is an upper bound.

    References
    ----------
    K. C. Gupta, R. Garg, I. J. Bahl, Microstrip Lines and Slotlines, 1979, ch. 7: coplanar strips
    by conformal mapping; from memory.
    """
    modulus = distance_m / (distance_m + 2 * width_m)
    ratio = float(ellipk(1 - modulus**2)) / float(ellipk(modulus**2))
    return epsilon_0 * (1 + permittivity) / 2 * ratio * length_m


def coil_voltage_v_per_a(
    freq_hz: float, turns: int, pole_area_m2: float, distance_m: float, loop_m2: float
) -> float:
    """Voltage that the stray field of a coil induces in the wires of a pickup, per ampere.

    Parameters
    ----------
    freq_hz : float
        [Hz]
    turns : int
    pole_area_m2 : float
        Area that the flux of the coil leaves from. [m²]
    distance_m : float
        From coil to wires; large against the pole. [m]
    loop_m2 : float
        Area of the loop of the wires, lying in the worst direction. [m²]

    Returns
    -------
    float
        [V/A]

    Notes
    -----
    The far field of a magnetic dipole of moment N A per ampere on its axis, B = μ0 m/(2π r³); iron
    of the pole beyond its face is left out, shields as well.

    References
    ----------
    J. D. Jackson, Classical Electrodynamics, 3rd ed. 1998, eq. (5.56).
    """
    flux_density = mu_0 * turns * pole_area_m2 / (2 * math.pi * distance_m**3)
    return 2 * math.pi * freq_hz * flux_density * loop_m2
