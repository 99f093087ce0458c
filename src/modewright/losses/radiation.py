"""Sound that a body without a baffle radiates as it pushes the air to and fro."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial.distance import pdist
from scipy.special import h1vp

from modewright.losses.mechanism import Mechanism

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.losses.mechanism import LossBody
    from modewright.losses.surface import SurfaceMotion
    from modewright.materials.air import Air

__all__ = ["MECHANISM", "radiation_loss_factor"]

_SMALL_KR = 0.1
_SMALL_KA = 1e-3


def radiation_loss_factor(
    freq_hz: NDArray[np.float64], surface: SurfaceMotion, air: Air
) -> NDArray[np.float64]:
    """Loss factor of each mode by radiated sound.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    surface : SurfaceMotion
        Each point is taken as part of a bar of its local width and thickness.
    air : Air

    Returns
    -------
    float array, shape (modes,)

    Notes
    -----
    A piece that moves across itself is a dipole as strong as its acceleration times the mass of air
    that it displaces and that which it drags along: (π/4) ρ b² per length for a strip, twice the
    displaced mass for a round rod, half as much again for a sphere. Motion along a bar counts with
    the displaced mass alone. The dipoles of a mode interfere, which is what keeps a reed quiet
    below coincidence. Where the wavelength is no longer large against the section, each dipole is
    weakened as that of a round rod of the same strength; in all, a mode gives at most the plane
    wave 2 ρ c from both sides of its fronts. Pieces hardly longer than wide drag less air than
    this (see `air_drag`), and end faces none: a sphere comes out 1.8 times too loud, a square
    plate 3 times. No walls, base or other notes nearby. Trust it within a factor of two for
    bodies with pieces longer than twice their width.

    References
    ----------
    Dipole and plane wave: P. M. Morse and K. U. Ingard, Theoretical Acoustics, secs. 7.1 and 7.4;
    round rod, Hankel function of its circumference over the wavelength: ibid., sec. 7.3 (sections
    from memory). Added masses: see `SurfaceMotion`. The interference of dipoles, 3 j1(kr)/(kr)
    across their axis and 3 j2(kr) less along it, follows from the Green function of the Helmholtz
    equation.
    """
    distance_m = pdist(surface.points_m)
    one, other = np.triu_indices(len(surface.points_m), 1)
    towards = (surface.points_m[other] - surface.points_m[one]) / distance_m[:, None]
    found = np.zeros(len(freq_hz))
    for mode, freq in enumerate(freq_hz):
        omega = 2 * np.pi * freq
        number = omega / air.speed_of_sound_m_per_s
        push = omega * air.density_kg_per_m3 * _moved_volume(surface, mode, number)
        across, along = _interference(number * distance_m)
        pairs = np.einsum("pd,pd->p", push[one], push[other])
        lengthwise = np.einsum("pd,pd->p", push[one, :2], towards)
        lengthwise *= np.einsum("pd,pd->p", push[other, :2], towards)
        together = float(np.sum(push**2) + 2 * (pairs @ across - lengthwise @ along))
        # Radiated power for unit modal velocity, doubled: the modal resistance.
        resistance = (
            together * number**2 / (12 * np.pi * air.density_kg_per_m3 * air.speed_of_sound_m_per_s)
        )
        # Round-off may leave a mode that cancels itself slightly below zero.
        found[mode] = max(0.0, min(resistance, _plane_wave(surface, mode, air))) / omega
    return found


def _moved_volume(surface: SurfaceMotion, mode: int, number: float) -> NDArray[np.float64]:
    """Volume of air times displacement of each point, shape (points, 3). [m³/sqrt(kg)]"""
    normal_m = _weakened(surface, surface.thickness_m + surface.added_normal_m, number)
    sideways_m = _weakened(surface, surface.thickness_m + surface.added_sideways_m, number)
    along = np.stack([-surface.across[:, 1], surface.across[:, 0]], axis=-1)
    volume = np.zeros((len(surface.points_m), 3))
    volume[:, :2] = (sideways_m * surface.sideways[:, mode])[:, None] * surface.across
    volume[:, :2] += (surface.thickness_m * surface.lengthwise[:, mode])[:, None] * along
    volume[:, 2] = normal_m * surface.normal[:, mode]
    return volume * surface.area_m2[:, None]


def _weakened(
    surface: SurfaceMotion, height_m: NDArray[np.float64], number: float
) -> NDArray[np.float64]:
    """Height of the moved air, less where the section is no longer small against the wavelength."""
    ka = number * np.sqrt(height_m * surface.width_m / (2 * np.pi))
    safe = np.maximum(ka, _SMALL_KA)
    share = 2 / (np.pi * safe**2 * np.abs(h1vp(1, safe)))
    return height_m * np.where(ka < _SMALL_KA, 1.0, share)


def _interference(kr: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """3 j1(kr)/(kr), which is 1 for dipoles close together, and 3 j2(kr).

    By sine and cosine, and by series where these cancel: made pieces come by the dozen, and the
    general spherical Bessel functions take ten times as long over their many pairs of places.
    """
    is_small = kr < _SMALL_KR
    safe = np.where(is_small, 1.0, kr)
    sine, cosine = np.sin(safe) / safe, np.cos(safe)
    slope = (sine - cosine) / safe**2
    across = np.where(is_small, 1 - kr**2 / 10 + kr**4 / 280, 3 * slope)
    along = np.where(is_small, kr**2 / 5 - kr**4 / 70 + kr**6 / 2520, 3 * (3 * slope - sine))
    return across, along


def _plane_wave(surface: SurfaceMotion, mode: int, air: Air) -> float:
    edges = surface.depth_m / surface.width_m
    square = surface.normal[:, mode] ** 2 + edges * surface.sideways[:, mode] ** 2
    square += edges * surface.lengthwise[:, mode] ** 2
    return 2 * air.density_kg_per_m3 * air.speed_of_sound_m_per_s * float(square @ surface.area_m2)


def _of_body(body: LossBody) -> NDArray[np.complex128]:
    # The mass of the air that swings along is that of the strip, counted with its drag.
    return radiation_loss_factor(body.modes.freq_hz, body.surface, body.air).astype(np.complex128)


MECHANISM = Mechanism(
    name="radiation", is_on=lambda settings: settings.radiation, reaction=_of_body
)
