"""The ``[material]`` section of a design: a row of the table, corrected where the maker knows."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from modewright.materials.model import ROOM_TEMPERATURE_K, Material, Sourced, at_temperature
from modewright.materials.table import material_named, material_names
from modewright.parameters import choice, quantity

__all__ = ["MaterialChoice", "chosen_material"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialChoice:
    """Which metal, which of its constants were measured, and how warm it is.

    Constants left out come from the table. Entered ones hold at 20 °C.
    """

    name: str = choice("Row of the table of materials.", material_names())
    temperature_k: float = quantity(
        "K",
        "Temperature of the body and of the air around it.",
        default=ROOM_TEMPERATURE_K,
        show="degC",
        at_least=223.15,
        at_most=373.15,
        plausible=(263.15, 323.15),
    )
    youngs_modulus_pa: float | None = quantity(
        "Pa",
        "Young's modulus, if measured.",
        default=None,
        show="GPa",
        above=0.0,
        plausible=(10e9, 500e9),
    )
    poisson_ratio: float | None = quantity(
        "1", "Poisson's ratio, if measured.", default=None, above=-1.0, below=0.5
    )
    density_kg_per_m3: float | None = quantity(
        "kg/m**3",
        "Density, if measured.",
        default=None,
        above=0.0,
        plausible=(1000.0, 25000.0),
    )
    expansion_per_k: float | None = quantity(
        "1/K",
        "Linear thermal expansion.",
        default=None,
        show="ppm/K",
        plausible=(-1e-6, 100e-6),
    )
    thermal_conductivity_w_per_m_per_k: float | None = quantity(
        "W/m/K", "Thermal conductivity.", default=None, above=0.0, plausible=(1.0, 500.0)
    )
    specific_heat_j_per_kg_per_k: float | None = quantity(
        "J/kg/K", "Specific heat.", default=None, above=0.0, plausible=(100.0, 2000.0)
    )
    youngs_modulus_drift_per_k: float | None = quantity(
        "1/K",
        "Relative change of Young's modulus per kelvin.",
        default=None,
        show="ppm/K",
        plausible=(-1e-3, 1e-4),
        above=-5e-3,
        below=5e-3,
    )
    loss_factor: float | None = quantity(
        "1",
        "Loss factor of the metal without its thermoelastic part.",
        default=None,
        show="ppm",
        above=0.0,
        below=1.0,
        plausible=(1e-6, 0.05),
    )
    relative_permeability: float | None = quantity(
        "1", "Relative magnetic permeability of the sheet.", default=None, at_least=1.0
    )
    saturation_t: float | None = quantity(
        "T", "Magnetic flux density at which the sheet saturates.", default=None, at_least=0.0
    )


def chosen_material(chosen: MaterialChoice) -> Material:
    """Material of the design, with what was entered in place of the table, at its temperature.

    Parameters
    ----------
    chosen : MaterialChoice

    Returns
    -------
    Material
        Entered constants have spread 0 and the source ``entered in the design``.
    """
    material = material_named(chosen.name)
    entered = {
        field.name: _entered(getattr(chosen, field.name))
        for field in dataclasses.fields(chosen)
        if field.name not in ("name", "temperature_k") and getattr(chosen, field.name) is not None
    }
    return at_temperature(dataclasses.replace(material, **entered), chosen.temperature_k)


def _entered(value: float) -> Sourced:
    return Sourced(value=value, spread=0.0, source="entered in the design")
