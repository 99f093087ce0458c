"""What a coil bears: heat, saturation, command."""

from __future__ import annotations

import math

__all__ = ["heat_limited_current_a", "peak_heat_share", "sine_power_w", "warm_resistance_ohm"]

# Annealed copper at 20 °C: IEC 60028.
_COPPER_PER_K = 3.93e-3


def warm_resistance_ohm(resistance_ohm: float, rise_k: float) -> float:
    """Resistance of a copper winding that is so much warmer than at 20 °C.

    Parameters
    ----------
    resistance_ohm : float
        At 20 °C. [ohm]
    rise_k : float
        [K]

    Returns
    -------
    float
        [ohm]
    """
    return resistance_ohm * (1 + _COPPER_PER_K * rise_k)


def heat_limited_current_a(
    resistance_ohm: float, thermal_resistance_k_per_w: float, temperature_rise_k: float
) -> float:
    """Amplitude of a sinusoidal current that heats a coil by a given rise for ever.

    Parameters
    ----------
    resistance_ohm : float
        Of the coil when warm. [ohm]
    thermal_resistance_k_per_w : float
        From coil to surroundings. [K/W]
    temperature_rise_k : float
        Allowed rise. [K]

    Returns
    -------
    float
        Peak of the sine: ``R i²/2 = rise/thermal resistance``. [A]
    """
    return math.sqrt(2 * temperature_rise_k / (thermal_resistance_k_per_w * resistance_ohm))


def sine_power_w(
    current_a: float, resistance_ohm: float, thermal_resistance_k_per_w: float
) -> float:
    """Heat in a copper coil that a sinusoidal current has warmed for good.

    Parameters
    ----------
    current_a : float
        Amplitude, no more than `heat_limited_current_a` allows for some rise. [A]
    resistance_ohm : float
        At 20 °C. [ohm]
    thermal_resistance_k_per_w : float
        From coil to surroundings. [K/W]

    Returns
    -------
    float
        P from ``P = R (1 + α Θ P) i²/2``. [W]
    """
    cold_w = resistance_ohm * current_a**2 / 2
    return cold_w / (1 - _COPPER_PER_K * thermal_resistance_k_per_w * cold_w)


def peak_heat_share(on_time_s: float, cycle_s: float, thermal_time_s: float) -> float:
    """Largest rise of a coil that is heated again and again, over that of heating for ever.

    Parameters
    ----------
    on_time_s : float
        How long the power is on in each cycle. [s]
    cycle_s : float
        >= `on_time_s`. [s]
    thermal_time_s : float
        Time constant of a single body of metal that cools to its surroundings. [s]

    Returns
    -------
    float
        ``(1 - exp(-on/τ))/(1 - exp(-cycle/τ))``, the end of the heating once all cycles are alike.

    References
    ----------
    Steady state of ``τ dT/dt + T = Θ P(t)``; intermittent duty as in IEC 60034-1, S3 (from memory).
    """
    return math.expm1(-on_time_s / thermal_time_s) / math.expm1(-cycle_s / thermal_time_s)
