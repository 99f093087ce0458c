"""Sound that a sheet without a baffle radiates from both faces."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial.distance import pdist

from modewright.losses.mechanism import Mechanism

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.losses.mechanism import LossBody
    from modewright.losses.surface import SurfaceMotion
    from modewright.materials.air import Air

__all__ = ["MECHANISM", "radiation_loss_factor"]

_SMALL_KR = 0.01


def radiation_loss_factor(
    freq_hz: NDArray[np.float64], surface: SurfaceMotion, air: Air
) -> NDArray[np.float64]:
    """Loss factor of each mode by radiated sound.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    surface : SurfaceMotion
        Each point is taken as part of a strip of its local width.
    air : Air

    Returns
    -------
    float array, shape (modes,)

    Notes
    -----
    Each piece of strip pushes the air with the force (π/4) ρ b ω v dA, the added mass of a strip
    times its acceleration, and radiates as a dipole; the dipoles of a mode interfere, which is
    what keeps a reed quiet below coincidence. Holds while the local width b is small against the
    wavelength, k b < 1: below 5 kHz for 10 mm. Above, the sum is capped at 2 ρ c per area, the
    plane wave from both faces. No walls, base or other notes nearby. Trust it within a factor of
    two.

    References
    ----------
    Dipole and plane wave: P. M. Morse and K. U. Ingard, Theoretical Acoustics, secs. 7.1 and 7.4.
    Added mass of a strip: H. Lamb, Hydrodynamics, art. 71. The interference of parallel dipoles,
    3 j1(kr)/(kr) across their axis, follows from the Green function of the Helmholtz equation.
    """
    distance_m = pdist(surface.points_m)
    one, other = np.triu_indices(len(surface.points_m), 1)
    added = np.pi / 4 * air.density_kg_per_m3 * surface.width_m * surface.area_m2
    found = np.zeros(len(freq_hz))
    for mode, freq in enumerate(freq_hz):
        omega = 2 * np.pi * freq
        number = omega / air.speed_of_sound_m_per_s
        push = omega * added * surface.normal[:, mode]
        pairs = push[one] * push[other]
        together = float(push @ push + 2 * pairs @ _interference(number * distance_m))
        # Radiated power for unit modal velocity, doubled: the modal resistance.
        resistance = (
            together * number**2 / (12 * np.pi * air.density_kg_per_m3 * air.speed_of_sound_m_per_s)
        )
        # Round-off may leave a mode that cancels itself slightly below zero.
        found[mode] = max(0.0, min(resistance, _plane_wave(surface, mode, air))) / omega
    return found


def _interference(kr: NDArray[np.float64]) -> NDArray[np.float64]:
    """3 j1(kr)/(kr), which is 1 for dipoles close together."""
    safe = np.maximum(kr, _SMALL_KR)
    exact = 3 * (np.sin(safe) / safe - np.cos(safe)) / safe**2
    return np.where(kr < _SMALL_KR, 1 - kr**2 / 10, exact)


def _plane_wave(surface: SurfaceMotion, mode: int, air: Air) -> float:
    moved = float(np.sum(surface.normal[:, mode] ** 2 * surface.area_m2))
    return 2 * air.density_kg_per_m3 * air.speed_of_sound_m_per_s * moved


def _of_body(body: LossBody) -> NDArray[np.complex128]:
    # The mass of the air that swings along is that of the strip, counted with its drag.
    return radiation_loss_factor(body.modes.freq_hz, body.surface, body.air).astype(np.complex128)


MECHANISM = Mechanism(
    name="radiation", is_on=lambda settings: settings.radiation, reaction=_of_body
)
