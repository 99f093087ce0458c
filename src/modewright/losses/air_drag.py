"""Viscous drag and mass of the air on strips and rods."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import kve

from modewright.losses.mechanism import Mechanism

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from modewright.losses.mechanism import LossBody
    from modewright.losses.surface import SurfaceMotion
    from modewright.materials.air import Air

__all__ = ["MECHANISM", "air_drag_reaction", "cylinder_drag", "strip_drag"]

# Fitted range of the correction from a cylinder to a strip.
_LEAST_REYNOLDS, _FITTED_REYNOLDS = 1e-6, 1e4

_REAL_ABOVE = (0.91324, -0.48274, 0.46842, -0.12886, 0.044055, -0.0035117, 0.00069085)
_REAL_BELOW = (1.0, -0.56964, 0.48690, -0.13444, 0.045155, -0.0035862, 0.00069085)
_IMAG_ABOVE = (-0.024134, -0.029256, 0.016294, -0.00010961, 0.000064577, -0.000044510)
_IMAG_BELOW = (1.0, -0.59702, 0.55182, -0.18357, 0.079156, -0.014369, 0.0028361)


def strip_drag(reynolds: ArrayLike) -> NDArray[np.complex128]:
    """Hydrodynamic function Γ of a thin strip that oscillates across its plane.

    Parameters
    ----------
    reynolds : float or array
        ρ ω b²/(4 µ) for the width b, > 0.

    Returns
    -------
    complex array
        The force of the air per length is (π/4) ρ ω² b² Γ times the displacement, for the time
        factor exp(-i ω t): the real part adds mass, the imaginary part takes energy.

    Notes
    -----
    Small motion: displacement below about a tenth of the width, beyond which vortices shed from
    the edges add a loss that grows with level. Strip long against its width, thin against it, far
    from other surfaces. Fitted for Reynolds numbers from 1e-6 to 1e4, within 0.1 %; above, where
    reeds wider than some millimetres lie, the imaginary part is continued as its boundary-layer
    law Re^(-1/2).

    References
    ----------
    J. E. Sader, Frequency response of cantilever beams immersed in viscous fluids, J. Appl. Phys.
    84 (1998) 64, eqs. 20 to 21c (from memory; checked against the independent fit of A. Maali et
    al., J. Appl. Phys. 97 (2005) 074907).
    """
    reynolds = np.asarray(reynolds, dtype=float)
    fitted = np.minimum(reynolds, _FITTED_REYNOLDS)
    root = np.sqrt(1j * fitted)
    cylinder = _cylinder(root)
    tau = np.log10(fitted)
    correction = _fraction(tau, _REAL_ABOVE, _REAL_BELOW) + 1j * _fraction(
        tau, _IMAG_ABOVE, _IMAG_BELOW
    )
    strip = cylinder * correction
    return strip.real + 1j * strip.imag * np.sqrt(fitted / reynolds)


def cylinder_drag(reynolds: ArrayLike) -> NDArray[np.complex128]:
    """Hydrodynamic function of a round rod, its diameter in place of the width.

    Parameters and result as for `strip_drag`, of which it is the exact part: G. G. Stokes, On the
    effect of the internal friction of fluids on the motion of pendulums, 1851 (from memory).
    """
    return _cylinder(np.sqrt(1j * np.asarray(reynolds, dtype=float)))


def _cylinder(root: NDArray[np.complex128]) -> NDArray[np.complex128]:
    # K1/K0 at -i sqrt(i Re); the scaled functions share their growth.
    return 1 + 4j * kve(1, -1j * root) / kve(0, -1j * root) / root


def _fraction(
    tau: NDArray[np.float64], above: tuple[float, ...], below: tuple[float, ...]
) -> NDArray[np.float64]:
    polyval = np.polynomial.polynomial.polyval
    return polyval(tau, np.array(above)) / polyval(tau, np.array(below))


def air_drag_reaction(
    freq_hz: NDArray[np.float64], surface: SurfaceMotion, air: Air
) -> NDArray[np.complex128]:
    """Loss factor of each mode by viscous drag, and the mass of air that it moves.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    surface : SurfaceMotion
        Each point is taken as part of a bar of its local width and thickness.
    air : Air

    Returns
    -------
    complex array, shape (modes,)
        η + i µ, µ being the mass of the air over the modal mass: it lowers the frequency by
        sqrt(1 + µ). For normal motion of a strip η = Σ (π/4) ρ b Im Γ φ² dA and µ = Σ (π/4) ρ b Re
        Γ φ² dA.

    Notes
    -----
    Moving across itself in its plane, a sheet drags air with its edges, as a strip of its
    thickness, and with both faces, over which a layer of sqrt(2 µ/(ρ ω)) shears; along itself with
    faces and edges by shear alone. Round rods drag as cylinders in both directions; their twist is
    left out, an η of some 1e-6. The mass is that of rectangles (see `SurfaceMotion`), the drag that
    of a thin strip.

    See `strip_drag` for where it holds. Where the motion changes along the sheet within about its
    width, as in short or wide pieces, air slips round: µ is then too large, by a factor of up to
    1.2 for a piece four times, 1.35 for one twice as long as wide, 1.75 for a square that moves
    as a whole. Neighbours across a slot are not seen: arms that move together across narrow
    slots drag more air than found here, at most that of a strip as wide as all of them.

    References
    ----------
    Shear layer at a wall that moves in its plane: L. D. Landau and E. M. Lifshitz, Fluid Mechanics,
    sec. 24 (from memory).
    """
    omega = 2 * np.pi * freq_hz
    normal = _across(omega, surface.width_m, surface.added_normal_m, surface, air)
    sideways = _across(omega, surface.depth_m, surface.added_sideways_m, surface, air)
    shear = np.sqrt(2 * air.viscosity_pa_s / (air.density_kg_per_m3 * omega)) * (1 + 1j)
    if surface.is_round:
        lengthwise = np.pi / 2 * shear
    else:
        sideways = sideways + shear
        lengthwise = shear * (1 + surface.thickness_m / surface.width_m)[:, None]
    per_area = normal * surface.normal**2 + sideways * surface.sideways**2
    per_area = per_area + lengthwise * surface.lengthwise**2
    return air.density_kg_per_m3 * np.einsum("pm,p->m", per_area, surface.area_m2)


def _across(
    omega: NDArray[np.float64],
    front_m: NDArray[np.float64],
    added_m: NDArray[np.float64],
    surface: SurfaceMotion,
    air: Air,
) -> NDArray[np.complex128]:
    """Reaction to motion across a front as columns of air, loss + i mass, (points, modes). [m]"""
    reynolds = air.density_kg_per_m3 * omega * front_m[:, None] ** 2 / (4 * air.viscosity_pa_s)
    # Towards the rim of a lens there is no front left.
    reynolds = np.maximum(reynolds, _LEAST_REYNOLDS)
    gamma = cylinder_drag(reynolds) if surface.is_round else strip_drag(reynolds)
    strip_m = np.pi / 4 * front_m**2 / surface.width_m
    return strip_m[:, None] * gamma.imag + 1j * added_m[:, None] * gamma.real


def _of_body(body: LossBody) -> NDArray[np.complex128]:
    return air_drag_reaction(body.modes.freq_hz, body.surface, body.air)


MECHANISM = Mechanism(name="air drag", is_on=lambda settings: settings.air_drag, reaction=_of_body)
