"""A metal and its constants, each with where it came from and how far to trust it."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import Literal

from modewright.materials.solid import IsotropicSolid

__all__ = [
    "ROOM_TEMPERATURE_K",
    "Magnetism",
    "Material",
    "Sourced",
    "at_temperature",
    "expansion_freq_ratio",
    "freq_drift_per_k",
]

ROOM_TEMPERATURE_K = 293.15

Magnetism = Literal["non-magnetic", "weakly magnetic", "ferromagnetic"]

# Common practice: sheet below the first value does not feel a hand magnet; sheet above both others
# can be driven by an electromagnet without a spot of steel on it.
_FELT_PERMEABILITY = 1.05
_DRIVABLE_PERMEABILITY = 20.0
_DRIVABLE_SATURATION_T = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """A number with its origin.

    Parameters
    ----------
    value : float
        In the unit that the name of the constant carries.
    spread : float
        Half of the range that sheets and batches cover, relative to the value, >= 0.
    source : str
        Where the number comes from.
    """

    value: float
    spread: float
    source: str

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError(f"value: expected a finite number, got {self.value}")
        if not self.spread >= 0:
            raise ValueError(f"spread: expected 0 or above, got {self.spread}")
        if not self.source:
            raise ValueError("source: expected a few words, got none")


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A metal at one temperature.

    Parameters
    ----------
    name : str
        As in the table of materials.
    youngs_modulus_pa : Sourced
        E, adiabatic or isothermal alike: they differ by less than its spread. [Pa]
    poisson_ratio : Sourced
        ν.
    density_kg_per_m3 : Sourced
        ρ of the body at the size it is drawn, that is at 20 °C. [kg/m³]
    expansion_per_k : Sourced
        α, linear thermal expansion. [1/K]
    thermal_conductivity_w_per_m_per_k : Sourced
        [W/(m K)]
    specific_heat_j_per_kg_per_k : Sourced
        c, at constant pressure. [J/(kg K)]
    youngs_modulus_drift_per_k : Sourced
        Relative change of E per kelvin near 20 °C, negative for common metals. [1/K]
    loss_factor : Sourced
        Loss in the metal itself without the thermoelastic part; 1/Q.
    relative_permeability : Sourced
        Of the sheet as supplied, in fields of a few kA/m.
    saturation_t : Sourced
        Flux density at which it saturates; 0 for a metal that has none. [T]
    temperature_k : float
        Temperature at which the constants hold. [K]
    """

    name: str
    youngs_modulus_pa: Sourced
    poisson_ratio: Sourced
    density_kg_per_m3: Sourced
    expansion_per_k: Sourced
    thermal_conductivity_w_per_m_per_k: Sourced
    specific_heat_j_per_kg_per_k: Sourced
    youngs_modulus_drift_per_k: Sourced
    loss_factor: Sourced
    relative_permeability: Sourced
    saturation_t: Sourced
    temperature_k: float = ROOM_TEMPERATURE_K

    @property
    def solid(self) -> IsotropicSolid:
        """The constants that the modes depend on."""
        return IsotropicSolid(
            youngs_modulus_pa=self.youngs_modulus_pa.value,
            poisson_ratio=self.poisson_ratio.value,
            density_kg_per_m3=self.density_kg_per_m3.value,
        )

    @property
    def thermal_diffusivity_m2_per_s(self) -> float:
        """χ = k/(ρ c). [m²/s]"""
        heat_capacity = self.density_kg_per_m3.value * self.specific_heat_j_per_kg_per_k.value
        return self.thermal_conductivity_w_per_m_per_k.value / heat_capacity

    @property
    def magnetism(self) -> Magnetism:
        """How the sheet takes a magnet, from its permeability and saturation."""
        permeability, saturation_t = self.relative_permeability.value, self.saturation_t.value
        if permeability < _FELT_PERMEABILITY or saturation_t <= 0:
            return "non-magnetic"
        if permeability < _DRIVABLE_PERMEABILITY or saturation_t < _DRIVABLE_SATURATION_T:
            return "weakly magnetic"
        return "ferromagnetic"


def _stiffness_ratio(material: Material, temperature_k: float) -> float:
    ratio = 1 + material.youngs_modulus_drift_per_k.value * (temperature_k - ROOM_TEMPERATURE_K)
    if not ratio > 0:
        raise ValueError(f"temperature_k: expected near room temperature, got {temperature_k}")
    return ratio


def at_temperature(material: Material, temperature_k: float) -> Material:
    """Material at another temperature.

    Only Young's modulus is changed; the other constants are held. The density keeps referring to
    the size drawn, so that the mass of a body stays what it is; what expansion does to the
    frequencies is told by `expansion_freq_ratio`.

    Parameters
    ----------
    material : Material
    temperature_k : float
        > 0. [K]

    Returns
    -------
    Material
        With E(T) = E(20 °C) · (1 + β (T - 20 °C)).

    Raises
    ------
    ValueError
        If the straight line would make the modulus zero or negative.

    Notes
    -----
    A straight line holds within about 100 K of room temperature.
    """
    ratio = _stiffness_ratio(material, temperature_k) / _stiffness_ratio(
        material, material.temperature_k
    )
    modulus = material.youngs_modulus_pa
    return dataclasses.replace(
        material,
        youngs_modulus_pa=dataclasses.replace(modulus, value=modulus.value * ratio),
        temperature_k=temperature_k,
    )


def expansion_freq_ratio(material: Material, temperature_k: float) -> float:
    """Factor by which even heating from 20 °C raises every frequency through its size alone.

    Parameters
    ----------
    material : Material
    temperature_k : float
        [K]

    Returns
    -------
    float
        sqrt(1 + α (T - 20 °C)): lengths grow by s, density falls by s³, and the frequencies of an
        elastic body go as sqrt(E/ρ)/length.

    Notes
    -----
    Exact for a body of one material that is free to grow.
    """
    return math.sqrt(1 + material.expansion_per_k.value * (temperature_k - ROOM_TEMPERATURE_K))


def freq_drift_per_k(material: Material) -> float:
    """Relative drift of every mode of an evenly heated body, ½ (β_E + α). [1/K]

    Parameters
    ----------
    material : Material

    Returns
    -------
    float
        At 20 °C; negative means flat when warm. [1/K]

    References
    ----------
    Derivative of the scaling law of `expansion_freq_ratio` together with β_E; the same sum is used
    by G. H. Keulegan and M. R. Houseman, J. Res. NBS 10 (1933) 289 (from memory).
    """
    return (material.youngs_modulus_drift_per_k.value + material.expansion_per_k.value) / 2
