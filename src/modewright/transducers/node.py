"""What a current into the plate of a pickup, or a voltage in its lead, becomes at the output.

The node is the plate with its lead and the input: gap and stray capacitance, bias resistor and
leakage side by side to earth. Follower: ``Z = 1/(1/R + s (C + C_p))``; charge amplifier:
``Z = 1/(1/R_f + s C_f)``, its coupling capacitor being taken as large and its input as earth.
Kirchhoff's laws, nothing else; judged by a circuit solved node by node.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.transducers.preamp import ChargeAmplifier

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.capacitive_pickup import CapacitivePickup

__all__ = ["amplifier_band", "lead_gain", "node_impedance_ohm", "supply_gain"]


def node_impedance_ohm(
    pickup: CapacitivePickup, capacitance_f: float, freq_hz: NDArray[np.float64]
) -> NDArray[np.complex128]:
    """Output voltage, up to its sign, per current into the plate, before the amplifier's band.

    Parameters
    ----------
    pickup : CapacitivePickup
    capacitance_f : float
        Of the gap. [F]
    freq_hz : float array, any shape
        [Hz]

    Returns
    -------
    complex array of that shape
        [ohm]
    """
    amp = pickup.preamp
    s = np.asarray(2j * np.pi * freq_hz, dtype=np.complex128)
    if isinstance(amp, ChargeAmplifier):
        return 1 / (1 / amp.feedback_resistance_ohm + s * amp.feedback_capacitance_f)
    total_f = capacitance_f + pickup.stray_capacitance_f
    return 1 / (1 / pickup.node_resistance_ohm + s * total_f)


def amplifier_band(
    pickup: CapacitivePickup, freq_hz: NDArray[np.float64]
) -> NDArray[np.complex128]:
    """Share that the amplifier's own upper corner lets through at each frequency. [Hz]"""
    turn = np.asarray(1j * freq_hz / pickup.preamp.bandwidth_hz, dtype=np.complex128)
    return 1 / (1 + turn)


def lead_gain(
    pickup: CapacitivePickup, capacitance_f: float, freq_hz: NDArray[np.float64]
) -> NDArray[np.complex128]:
    """Output voltage per voltage that a magnetic field induces in the lead behind the plate.

    Parameters and shape as for `node_impedance_ohm`. Stray capacitance is taken to lie on the
    amplifier's side of the lead, where most of it is.
    """
    charge_per_volt = 2j * np.pi * freq_hz * capacitance_f
    return charge_per_volt * node_impedance_ohm(pickup, capacitance_f, freq_hz)


def supply_gain(
    pickup: CapacitivePickup, capacitance_f: float, freq_hz: NDArray[np.float64]
) -> NDArray[np.complex128]:
    """Output voltage per ripple on the far end of the bias resistor; as `node_impedance_ohm`."""
    return node_impedance_ohm(pickup, capacitance_f, freq_hz) / pickup.bias_resistance_ohm
