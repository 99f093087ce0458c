"""Heat that flows between the stretched and the squeezed side of what bends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.losses.mechanism import Mechanism
from modewright.modes.basis import BendingStrain

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from modewright.losses.mechanism import LossBody
    from modewright.losses.surface import SurfaceMotion
    from modewright.materials.model import Material

__all__ = ["MECHANISM", "bending_in_plane", "relaxation", "thermoelastic_loss_factor"]

# Below this value the closed form loses digits by cancellation; the sum over heat modes does not.
_SMALL_XI = 1.0
_ODD = np.arange(1.0, 60.0, 2.0)


def relaxation(xi: ArrayLike) -> NDArray[np.float64]:
    """Share of the relaxation strength that acts at a frequency.

    Parameters
    ----------
    xi : float or array
        h sqrt(ω/(2 χ)) with the thickness h and the thermal diffusivity χ, > 0.

    Returns
    -------
    float array
        f(ξ) = 6/ξ² - (6/ξ³)(sinh ξ + sin ξ)/(cosh ξ + cos ξ); at most 0.494, at ξ = 2.225.

    References
    ----------
    R. Lifshitz and M. L. Roukes, Phys. Rev. B 61 (2000) 5600, eq. 36. Below ξ = 1 the equal sum
    over heat modes, Σ 96/(π k)⁴ x/(1 + x²) with x = 2 ξ²/(π k)², k odd (C. Zener, Phys. Rev. 53
    (1938) 90).

    Examples
    --------
    >>> round(float(relaxation(2.2246)), 4)
    0.4942
    """
    values = np.atleast_1d(np.asarray(xi, dtype=float))
    found = np.where(values < _SMALL_XI, _by_heat_modes(values), _closed(values))
    return found.reshape(np.shape(xi))


def _by_heat_modes(xi: NDArray[np.float64]) -> NDArray[np.float64]:
    pace = 2 * xi[..., None] ** 2 / (np.pi * _ODD) ** 2
    return np.sum(96 / (np.pi * _ODD) ** 4 * pace / (1 + pace**2), axis=-1)


def _closed(xi: NDArray[np.float64]) -> NDArray[np.float64]:
    decay = np.exp(-np.maximum(xi, _SMALL_XI))  # sinh and cosh without their common growth
    xi = np.maximum(xi, _SMALL_XI)
    above = (1 - decay**2) / 2 + np.sin(xi) * decay
    below = (1 + decay**2) / 2 + np.cos(xi) * decay
    return 6 / xi**2 - 6 / xi**3 * above / below


def thermoelastic_loss_factor(
    freq_hz: NDArray[np.float64], bending: BendingStrain, material: Material
) -> NDArray[np.float64]:
    """Thermoelastic loss factor of each mode of a sheet.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    bending : BendingStrain
        Of the same modes.
    material : Material
        At the temperature of the sheet.

    Returns
    -------
    float array, shape (modes,)
        η = (3 K α)² T/(ρ c) Σ f(ξ) D over the thicknesses of the sheet, where D is the squared
        dilatation over twice the strain energy and K = E/(3 (1 - 2 ν)).

    Notes
    -----
    A slender strip has the dilatation (1 - 2 ν) ε, hence D = (1 - 2 ν)²/E and η = Δ f(ξ) with
    Zener's strength Δ = E α² T/(ρ c). A sheet bent to a cylinder has (1 + ν)/(1 - ν) times that, a
    sheet bent to a sphere 2/(1 - ν) times, a twisted one nothing. Heat is taken to flow straight
    through the sheet: thickness small against the wavelength, edges neglected. K is isothermal; the
    adiabatic one differs by the share Δ, which is below 1 %. Sheet in one plane: each thickness of
    a stepped sheet relaxes by itself.

    References
    ----------
    C. Zener, Phys. Rev. 52 (1937) 230; R. Lifshitz and M. L. Roukes, Phys. Rev. B 61 (2000) 5600.
    The dilatation form follows from the heat source -3 K α T dε/dt of thermoelasticity: L. D.
    Landau and E. M. Lifshitz, Theory of Elasticity, sec. 35.
    """
    solid = material.solid
    bulk_pa = solid.youngs_modulus_pa / (3 * (1 - 2 * solid.poisson_ratio))
    heat_capacity = solid.density_kg_per_m3 * material.specific_heat_j_per_kg_per_k.value
    stress_per_k = 3 * bulk_pa * material.expansion_per_k.value
    strength_pa = stress_per_k**2 * material.temperature_k / heat_capacity
    pace = np.sqrt(np.pi * freq_hz / material.thermal_diffusivity_m2_per_s)
    shares = relaxation(bending.thickness_m[:, None] * pace[None, :])
    return strength_pa * np.sum(shares * bending.dilatation_per_pa, axis=0)


def bending_in_plane(
    freq_hz: NDArray[np.float64], surface: SurfaceMotion, poisson_ratio: float
) -> BendingStrain:
    """Dilatation that varies across the strips of a sheet which bend in its plane.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    surface : SurfaceMotion
    poisson_ratio : float

    Returns
    -------
    BendingStrain
        The widths of the strips stand for thicknesses; the faces are free of stress, so that the
        dilatation is (1 - 2 ν)/(1 - ν) times the divergence in the plane.
    """
    ratio = (1 - 2 * poisson_ratio) / (1 - poisson_ratio)
    volume = (surface.area_m2 * surface.thickness_m)[:, None]
    twice_energy = (2 * np.pi * freq_hz) ** 2
    return BendingStrain(
        thickness_m=surface.width_m,
        dilatation_per_pa=ratio**2 * volume * surface.stretch_variance / twice_energy,
    )


def _of_body(body: LossBody) -> NDArray[np.complex128]:
    freq_hz = body.modes.freq_hz
    nu = body.material.solid.poisson_ratio
    strains = body.modes.bending, bending_in_plane(freq_hz, body.surface, nu)
    eta = sum(thermoelastic_loss_factor(freq_hz, strain, body.material) for strain in strains)
    return np.asarray(eta, dtype=np.complex128)


MECHANISM = Mechanism(
    name="thermoelastic",
    is_on=lambda settings: settings.thermoelastic,
    reaction=_of_body,
)
