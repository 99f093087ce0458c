"""Constants of the air around and inside an instrument."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Air", "air_at", "speed_of_sound_m_per_s"]

_KEEFE_TEMPERATURE_K = 300.0  # 26.85 °C
_ICE_K = 273.15
_STANDARD_PRESSURE_PA = 101325.0
_CO2_FRACTION = 314e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """Air at rest.

    Parameters
    ----------
    density_kg_per_m3 : float
        ρ. [kg/m³]
    viscosity_pa_s : float
        Shear viscosity µ. [Pa s]
    speed_of_sound_m_per_s : float
        c. [m/s]
    heat_ratio : float
        γ, ratio of the specific heats.
    prandtl_number : float
        µ c_p over the thermal conductivity.
    pressure_pa : float
        Static pressure. [Pa]
    """

    density_kg_per_m3: float
    viscosity_pa_s: float
    speed_of_sound_m_per_s: float
    heat_ratio: float
    prandtl_number: float
    pressure_pa: float


def air_at(temperature_k: float) -> Air:
    """Dry air at standard pressure.

    Parameters
    ----------
    temperature_k : float
        Between 223 and 373 K. [K]

    Returns
    -------
    Air

    Raises
    ------
    ValueError
        Outside this range.

    Notes
    -----
    Straight lines through 26.85 °C: the density is within 1 % of a perfect gas from -2 to 55 °C,
    and within 4 % over the whole range allowed here.

    References
    ----------
    D. H. Keefe, Acoustical wave propagation in cylindrical ducts, J. Acoust. Soc. Am. 75 (1984)
    58, list of constants (from memory); the speed of sound is that of
    `speed_of_sound_m_per_s`.
    """
    if not 223 <= temperature_k <= 374:
        raise ValueError(f"temperature_k: expected 223 to 373 K, got {temperature_k}")
    warmer_k = temperature_k - _KEEFE_TEMPERATURE_K
    return Air(
        density_kg_per_m3=1.1769 * (1 - 0.00335 * warmer_k),
        viscosity_pa_s=1.846e-5 * (1 + 0.0025 * warmer_k),
        speed_of_sound_m_per_s=speed_of_sound_m_per_s(temperature_k),
        heat_ratio=1.4017 * (1 - 0.00002 * warmer_k),
        prandtl_number=(0.8410 * (1 - 0.0002 * warmer_k)) ** 2,
        pressure_pa=_STANDARD_PRESSURE_PA,
    )


def speed_of_sound_m_per_s(
    temperature_k: float,
    *,
    relative_humidity: float = 0.0,
    pressure_pa: float = _STANDARD_PRESSURE_PA,
    co2_fraction: float = _CO2_FRACTION,
) -> float:
    """Speed of sound in moist air. [m/s]

    Parameters
    ----------
    temperature_k : float
        [K]
    relative_humidity : float
        0 to 1.
    pressure_pa : float
        Static pressure. [Pa]
    co2_fraction : float
        Mole fraction of carbon dioxide.

    Returns
    -------
    float
        [m/s]

    Notes
    -----
    Uncertainty 300 ppm for 0 to 30 °C, 75 to 102 kPa and up to 1 % carbon dioxide; the drift
    outside is smooth.

    References
    ----------
    O. Cramer, The variation of the specific heat ratio and the speed of sound in air, J. Acoust.
    Soc. Am. 93 (1993) 2510, eq. 15 and table III; the saturation pressure is eq. 17 there.
    """
    celsius, p, xc = temperature_k - _ICE_K, pressure_pa, co2_fraction
    saturation_pa = math.exp(
        1.2811805e-5 * temperature_k**2
        - 1.9509874e-2 * temperature_k
        + 34.04926034
        - 6.3536311e3 / temperature_k
    )
    enhancement = 1.00062 + 3.14e-8 * p + 5.6e-7 * celsius**2
    xw = relative_humidity * enhancement * saturation_pa / p
    return (
        _in_celsius(celsius, 331.5024, 0.603055, -0.000528)
        + _in_celsius(celsius, 51.471935, 0.1495874, -0.000782) * xw
        + _in_celsius(celsius, -1.82e-7, 3.73e-8, -2.93e-10) * p
        + _in_celsius(celsius, -85.20931, -0.228525, 5.91e-5) * xc
        - 2.835149 * xw**2
        - 2.15e-13 * p**2
        + 29.179762 * xc**2
        + 0.000486 * xw * p * xc
    )


def _in_celsius(celsius: float, constant: float, linear: float, square: float) -> float:
    return constant + linear * celsius + square * celsius**2
