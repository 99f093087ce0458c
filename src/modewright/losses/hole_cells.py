"""Air that leaves a film through holes in the plate."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import jv

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.materials.air import Air

__all__ = ["HoleCells", "hole_flow_per_area", "hole_impedance_pa_s_per_m3"]

# Sampson's orifice, 3 µ/r³, and the air that swings at the two mouths of a hole, 8 r/(3 π) each.
_ORIFICE, _MOUTHS = 3.0, 16 / (3 * math.pi)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleCells:
    """Holes through a plate in an even pattern.

    Parameters
    ----------
    cell_m2 : float
        Area of plate that each hole serves, the hole included; larger than the hole. [m²]
    radius_m, depth_m : float
        Of a hole. [m]
    """

    cell_m2: float
    radius_m: float
    depth_m: float

    @property
    def open_share(self) -> float:
        """Area of a hole over that of its cell."""
        return math.pi * self.radius_m**2 / self.cell_m2


def hole_impedance_pa_s_per_m3(omega_rad_s: float, holes: HoleCells, air: Air) -> complex:
    """Pressure over volume flow of one hole, open to the room at its far end. [Pa s/m³]

    Parameters
    ----------
    omega_rad_s : float
        [rad/s]
    holes : HoleCells
    air : Air

    Returns
    -------
    complex
        For slow flow 8 µ l/(π r⁴) + 3 µ/r³.

    References
    ----------
    J. R. Womersley, J. Physiol. 127 (1955) 553 (flow that swings in a tube); R. A. Sampson, Phil.
    Trans. R. Soc. A 182 (1891) 449 (orifice in a thin wall); Rayleigh, Theory of Sound, sec. 311
    (mouth in a wide wall). All from memory.
    """
    rho, mu, radius_m = air.density_kg_per_m3, air.viscosity_pa_s, holes.radius_m
    area_m2 = math.pi * radius_m**2
    s = radius_m * cmath.sqrt(-1j * omega_rad_s * rho / mu)
    # The exact quotient loses its digits for small s; s²/8 is what it tends to.
    profile = s**2 / 8 * (1 + s**2 / 6) if abs(s) < 0.05 else _bessel(2, s) / _bessel(0, s)
    tube = 1j * omega_rad_s * rho * holes.depth_m / (-profile * area_m2)
    mouths = _ORIFICE * mu / radius_m**3 + 1j * omega_rad_s * rho * _MOUTHS * radius_m / area_m2
    return tube + mouths


def _bessel(order: int, s: complex) -> complex:
    return complex(jv(float(order), np.asarray(s, dtype=np.complex128)))


def hole_flow_per_area(
    omega_rad_s: float, conductance: NDArray[np.complex128], holes: HoleCells, air: Air
) -> NDArray[np.complex128]:
    """Flow that holes take out of a film, per area and mean pressure over a cell. [m/(Pa s)]

    Parameters
    ----------
    omega_rad_s : float
        [rad/s]
    conductance : complex array
        Of the gap, from `modewright.losses.films.flow_conductance`. [m⁴ s/kg]
    holes : HoleCells
    air : Air

    Returns
    -------
    complex array
        Of the shape of `conductance`.

    Notes
    -----
    A round cell about each hole with no flow through its rim: the mean pressure drives the air
    towards the hole, then through it. Gap well below the web between holes; no compression inside
    a cell; nothing close behind the plate. The cells along the edge are taken as whole: the film
    is 5 % too stiff with 8 holes across a square plate, 10 % with 4, 20 % with 3 (finite elements
    of the film equation with each hole, up to a quarter open).

    References
    ----------
    Z. Škvor, On the acoustical resistance due to viscous losses in the air gap of electrostatic
    transducers, Acustica 19 (1967/68) 295 (the cell); M. Bao, H. Yang, Y. Sun and P. J. French,
    Modified Reynolds' equation and analytical analysis of squeeze-film air damping of perforated
    structures, J. Micromech. Microeng. 13 (2003) 795 (the cell as a sink of the film equation).
    Both from memory.
    """
    share = holes.open_share
    shape = 4 * share - share**2 - 2 * math.log(share) - 3
    towards = shape / (8 * np.pi * conductance)
    whole = towards + hole_impedance_pa_s_per_m3(omega_rad_s, holes, air)
    return np.asarray(1 / (whole * holes.cell_m2), dtype=np.complex128)
