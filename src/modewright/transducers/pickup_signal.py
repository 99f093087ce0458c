"""What a capacitive pickup says about each mode, and how it pulls back.

All from the capacitance C(q) of `modewright.transducers.gap`. A follower leaves the plate its
charge, ``(C + C_p) V = const`` above the corner 1/(R (C + C_p)); a charge amplifier leaves it its
voltage and puts the charge on its feedback capacitor.

References
----------
F. V. Hunt, Electroacoustics, 1954, ch. 6; Senturia, Microsystem Design, 2001, ch. 6.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.transducers.preamp import ChargeAmplifier
from modewright.transducers.reaction import Reaction
from modewright.transducers.stage import Stage, high_pass, low_pass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.gap import BiasedGap, Gap

__all__ = [
    "bias_corner_rad_s",
    "gap_nonlinearity",
    "pickup_path",
    "pickup_reaction",
    "second_harmonic_per_m",
    "volts_per_coordinate",
]


def bias_corner_rad_s(pickup: CapacitivePickup, capacitance_f: float) -> float:
    """Angular frequency below which the signal leaks away.

    Parameters
    ----------
    pickup : CapacitivePickup
    capacitance_f : float
        Of the gap alone. [F]

    Returns
    -------
    float
        [rad/s]
    """
    if isinstance(pickup.preamp, ChargeAmplifier):
        amp = pickup.preamp
        return 1 / (amp.feedback_resistance_ohm * amp.feedback_capacitance_f)
    return 1 / (pickup.node_resistance_ohm * (capacitance_f + pickup.stray_capacitance_f))


def _sharing_f(pickup: CapacitivePickup, capacitance_f: float) -> float:
    """Capacitance that turns charge into voltage."""
    if isinstance(pickup.preamp, ChargeAmplifier):
        return pickup.preamp.feedback_capacitance_f
    return capacitance_f + pickup.stray_capacitance_f


def volts_per_coordinate(pickup: CapacitivePickup, biased: BiasedGap) -> NDArray[np.float64]:
    """Voltage per modal coordinate between the corners of `pickup_path`.

    Returns
    -------
    float array, shape (modes,)
        -V_b (dC/dq)/(C + C_p) or -V_b (dC/dq)/C_f. [V/(m sqrt(kg))]
    """
    return -biased.bias * biased.gap.slope / _sharing_f(pickup, biased.gap.permeance)


def pickup_path(pickup: CapacitivePickup, capacitance_f: float) -> tuple[Stage, ...]:
    """Bias corner and preamplifier as stages of unit gain in the band."""
    corner = bias_corner_rad_s(pickup, capacitance_f)
    return (
        high_pass("bias corner", corner),
        low_pass("preamp", 2 * np.pi * pickup.preamp.bandwidth_hz),
    )


def pickup_reaction(pickup: CapacitivePickup, biased: BiasedGap) -> Reaction | None:
    """Stiffness that the plate's own voltage changes give back to the modes.

    Returns
    -------
    Reaction or None
        Dynamic stiffness ``V_b² C' C'ᵀ/(C + C_p) · s/(s + 1/(R (C + C_p)))`` to be added to the
        softening at constant voltage, `BiasedGap.stiffness`. At high frequency with no stray
        capacitance the two cancel for a parallel gap. None for a charge amplifier, which holds
        the voltage.
    """
    if isinstance(pickup.preamp, ChargeAmplifier):
        return None
    total_f = biased.gap.permeance + pickup.stray_capacitance_f
    stage = high_pass("charge", bias_corner_rad_s(pickup, biased.gap.permeance), 1 / total_f)
    return Reaction(name=pickup.name, vector=biased.bias * biased.gap.slope, stage=stage)


def gap_nonlinearity(pickup: CapacitivePickup, gap: Gap) -> tuple[float, float]:
    """Curvature of the signal for an even lift of the sheet over the plate.

    Parameters
    ----------
    pickup : CapacitivePickup
        With a bias above zero.
    gap : Gap

    Returns
    -------
    tuple of two floats
        a and b in ``v = s + a s² + b s³``, s being the linear signal. [1/V], [1/V²]
    """
    first, second, third = gap.even_lift
    total_f = _sharing_f(pickup, gap.permeance)
    a, b, c = first / total_f, second / (2 * total_f), third / (6 * total_f)
    if isinstance(pickup.preamp, ChargeAmplifier):
        return -b / a**2 / pickup.held_bias_v, c / a**3 / pickup.held_bias_v**2
    return (1 - b / a**2) / pickup.held_bias_v, (
        1 - 2 * b / a**2 + c / a**3
    ) / pickup.held_bias_v**2


def second_harmonic_per_m(
    pickup: CapacitivePickup, gap: Gap, reference: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Second harmonic over fundamental, per peak displacement, of each mode sounding alone.

    Parameters
    ----------
    pickup : CapacitivePickup
    gap : Gap
    reference : float array, shape (modes,)
        Displacement of the reference point per modal coordinate. [1/sqrt(kg)]

    Returns
    -------
    float array, shape (modes,)
        For a parallel gap evenly lifted: ½/g · C_p/(C + C_p) (follower), ½/g (charge amplifier).
        Not a number where plate or reference point lies on a node. [1/m]
    """
    slope, curve = gap.slope, np.diag(gap.curvature)
    with np.errstate(divide="ignore", invalid="ignore"):
        relative = curve / (2 * slope)
        if not isinstance(pickup.preamp, ChargeAmplifier):
            relative = relative - slope / _sharing_f(pickup, gap.permeance)
        return np.abs(relative / reference) / 2
