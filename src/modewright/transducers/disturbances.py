"""Hum, ripple and feedthrough at the output of a pickup's preamplifier.

A field E on an area A drives the displacement current ε0 ω E A into the node (Gauss); a field B
through the loop of the lead induces ω B A in it (Faraday). Signs and phases of different causes are
not known, so each stands alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.constants import epsilon_0

from modewright.checks import frozen_array
from modewright.transducers.node import (
    amplifier_band,
    lead_gain,
    node_impedance_ohm,
    supply_gain,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.surroundings import Surroundings

__all__ = [
    "Disturbance",
    "Feedthrough",
    "capacitive_through_v",
    "magnetic_through_v",
    "nearest_harmonic",
    "steady",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Disturbance:
    """One cause at its own frequency.

    Parameters
    ----------
    cause : str
    freq_hz : float
        [Hz]
    volts_v : float
        Root mean square at the output. [V]
    """

    cause: str
    freq_hz: float
    volts_v: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Feedthrough:
    """What the driver leaves in the pickup past the body, at the frequency of each mode.

    Parameters
    ----------
    cause : str
    bare_v, guarded_v, dummy_v, cancelled_v : float arrays, shape (modes,)
        Root mean square at the output: alone, with the guard, with the guard and a dummy
        electrode, and with both after the loop has subtracted what it knows of. [V]
    """

    cause: str
    bare_v: NDArray[np.float64]
    guarded_v: NDArray[np.float64]
    dummy_v: NDArray[np.float64]
    cancelled_v: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("bare_v", "guarded_v", "dummy_v", "cancelled_v"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def steady(
    pickup: CapacitivePickup, capacitance_f: float, room: Surroundings
) -> tuple[Disturbance, ...]:
    """Hum and ripple, as far as the surroundings are given.

    Parameters
    ----------
    pickup : CapacitivePickup
    capacitance_f : float
        Of the gap. [F]
    room : Surroundings

    Returns
    -------
    tuple of Disturbance
        Without what is not given.
    """
    found: list[Disturbance] = []
    mains_hz = np.array([room.mains_freq_hz])
    omega, band = 2 * np.pi * mains_hz, amplifier_band(pickup, mains_hz)

    def heard(cause: str, freq_hz: float, volts: NDArray[np.complex128]) -> None:
        found.append(Disturbance(cause=cause, freq_hz=freq_hz, volts_v=float(np.abs(volts[0]))))

    if room.electric_field_v_per_m is not None:
        given_m2 = room.exposed_area_m2
        area_m2 = float(pickup.placed_plate.area_points().area_m2) if given_m2 is None else given_m2
        field = room.electric_field_v_per_m * 10 ** (-room.electric_shield_db / 20)
        current_a = epsilon_0 * omega * field * area_m2
        heard(
            "electric field of the mains",
            room.mains_freq_hz,
            current_a * node_impedance_ohm(pickup, capacitance_f, mains_hz) * band,
        )
    if room.magnetic_field_t is not None and room.lead_loop_area_m2 is not None:
        emf_v = omega * room.magnetic_field_t * room.lead_loop_area_m2
        heard(
            "magnetic field of the mains",
            room.mains_freq_hz,
            emf_v * lead_gain(pickup, capacitance_f, mains_hz) * band,
        )
    if room.ripple_v is not None:
        at_hz = np.array([room.ripple_at_hz])
        corner_hz = room.ripple_filter_corner_hz
        left = 1.0 if corner_hz is None else 1 / (1 + 1j * at_hz / corner_hz)
        gain = supply_gain(pickup, capacitance_f, at_hz) * amplifier_band(pickup, at_hz)
        heard("ripple of the bias", room.ripple_at_hz, room.ripple_v * left * gain)
    return tuple(found)


def capacitive_through_v(
    pickup: CapacitivePickup,
    capacitance_f: float,
    coupling_f: float,
    coil_v: NDArray[np.float64],
    freq_hz: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Voltage at the output from that across the driver's winding.

    Parameters
    ----------
    pickup : CapacitivePickup
    capacitance_f, coupling_f : float
        Of the gap; from winding to plate, small beside the rest of the node. [F]
    coil_v : float array, shape (modes,)
        Across the winding. [V]
    freq_hz : float array, shape (modes,)
        [Hz]

    Returns
    -------
    float array, shape (modes,)
        [V], as `coil_v`.
    """
    current_a = 2 * np.pi * freq_hz * coupling_f * coil_v
    gain = node_impedance_ohm(pickup, capacitance_f, freq_hz) * amplifier_band(pickup, freq_hz)
    return current_a * np.abs(gain)


def magnetic_through_v(
    pickup: CapacitivePickup,
    capacitance_f: float,
    mutual_h: float,
    coil_a: NDArray[np.float64],
    freq_hz: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Voltage at the output from the current through the driver's winding.

    As `capacitive_through_v`, with the mutual inductance of winding and lead [H] and the current
    [A].
    """
    emf_v = 2 * np.pi * freq_hz * mutual_h * coil_a
    gain = lead_gain(pickup, capacitance_f, freq_hz) * amplifier_band(pickup, freq_hz)
    return emf_v * np.abs(gain)


def nearest_harmonic(freq_hz: NDArray[np.float64], mains_freq_hz: float) -> NDArray[np.int64]:
    """Harmonic of the mains that a mode is most likely to beat with.

    Parameters
    ----------
    freq_hz : float array, shape (modes,)
        [Hz]
    mains_freq_hz : float
        [Hz]

    Returns
    -------
    int array, shape (modes,)
        1 is the mains itself. Lamps, chargers and rectifiers make dozens of them.
    """
    return np.maximum(np.rint(freq_hz / mains_freq_hz), 1).astype(np.int64)
