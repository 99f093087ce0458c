"""Viscous drag and mass of the air on a strip that moves across itself."""

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

__all__ = ["MECHANISM", "air_drag_reaction", "strip_drag"]

# Fitted range of the correction from a cylinder to a strip.
_FITTED_REYNOLDS = 1e4

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
    # K1/K0 at -i sqrt(i Re); the scaled functions share their growth.
    ratio = kve(1, -1j * root) / kve(0, -1j * root)
    cylinder = 1 + 4j * ratio / root
    tau = np.log10(fitted)
    correction = _fraction(tau, _REAL_ABOVE, _REAL_BELOW) + 1j * _fraction(
        tau, _IMAG_ABOVE, _IMAG_BELOW
    )
    strip = cylinder * correction
    return strip.real + 1j * strip.imag * np.sqrt(fitted / reynolds)


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
        Each point is taken as part of a strip of its local width.
    air : Air

    Returns
    -------
    complex array, shape (modes,)
        η + i µ with η = Σ (π/4) ρ b Im Γ φ² dA and µ = Σ (π/4) ρ b Re Γ φ² dA, the mass of the
        air over the modal mass: it lowers the frequency by sqrt(1 + µ).

    Notes
    -----
    See `strip_drag` for where it holds. Where the motion changes along the sheet within about its
    width, as in short or wide pieces, air slips round: µ is then too large, by a factor of up to
    1.2 for a piece four times, 1.35 for one twice as long as wide, 1.75 for a square that moves
    as a whole. Neighbours across a slot are not seen: arms that move together across narrow
    slots drag more air than found here, at most that of a strip as wide as all of them.
    """
    omega = 2 * np.pi * freq_hz
    width = surface.width_m[:, None]
    reynolds = air.density_kg_per_m3 * omega * width**2 / (4 * air.viscosity_pa_s)
    gamma = strip_drag(reynolds)
    per_area = np.pi / 4 * air.density_kg_per_m3 * width * (gamma.imag + 1j * gamma.real)
    return np.sum(per_area * surface.normal**2 * surface.area_m2[:, None], axis=0)


def _of_body(body: LossBody) -> NDArray[np.complex128]:
    return air_drag_reaction(body.modes.freq_hz, body.surface, body.air)


MECHANISM = Mechanism(name="air drag", is_on=lambda settings: settings.air_drag, reaction=_of_body)
