"""What a coil bears: heat, saturation, command."""

from __future__ import annotations

import math

__all__ = ["heat_limited_current_a", "sine_power_w"]


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


def sine_power_w(force_n: float, force_factor_n_per_a: float, resistance_ohm: float) -> float:
    """Heat in the coil while it makes a sinusoidal force.

    Parameters
    ----------
    force_n : float
        Amplitude. [N]
    force_factor_n_per_a : float
        [N/A]
    resistance_ohm : float
        [ohm]

    Returns
    -------
    float
        R i²/2. [W]
    """
    return resistance_ohm * (force_n / force_factor_n_per_a) ** 2 / 2
