"""Elastic constants of a metal that is the same in all directions."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["IsotropicSolid"]


@dataclass(frozen=True, slots=True, kw_only=True)
class IsotropicSolid:
    """What the modes of a body depend on, besides its shape.

    Parameters
    ----------
    youngs_modulus_pa : float
        E, > 0. [Pa]
    poisson_ratio : float
        ν, -1 < ν < 0.5.
    density_kg_per_m3 : float
        ρ, > 0. [kg/m³]

    Raises
    ------
    ValueError
        If a constant lies outside these limits.
    """

    youngs_modulus_pa: float
    poisson_ratio: float
    density_kg_per_m3: float

    def __post_init__(self) -> None:
        if not self.youngs_modulus_pa > 0:
            raise ValueError(f"youngs_modulus_pa: expected above 0, got {self.youngs_modulus_pa}")
        if not -1 < self.poisson_ratio < 0.5:
            raise ValueError(
                f"poisson_ratio: expected between -1 and 0.5, got {self.poisson_ratio}"
            )
        if not self.density_kg_per_m3 > 0:
            raise ValueError(f"density_kg_per_m3: expected above 0, got {self.density_kg_per_m3}")

    @property
    def shear_modulus_pa(self) -> float:
        """G = E / (2 (1 + ν)). [Pa]"""
        return self.youngs_modulus_pa / (2 * (1 + self.poisson_ratio))

    @property
    def first_lame_pa(self) -> float:
        """λ = E ν / ((1 + ν)(1 - 2 ν)), the Lamé constant of dilatation. [Pa]"""
        nu = self.poisson_ratio
        return self.youngs_modulus_pa * nu / ((1 + nu) * (1 - 2 * nu))

    @property
    def plate_modulus_pa(self) -> float:
        """E / (1 - ν²), the modulus of a sheet bent one way. [Pa]"""
        return self.youngs_modulus_pa / (1 - self.poisson_ratio**2)
