"""Noise of a capacitive pickup by contributor.

All densities are one-sided, at the output of the preamplifier.

References
----------
H. Nyquist, Thermal agitation of electric charge in conductors, Phys. Rev. 32 (1928) 110; A. van
der Ziel, Noise in Solid State Devices and Circuits, 1986 (from memory). Thermal motion: Butt &
Jaschke, Nanotechnology 6 (1995) 1-7.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.constants import e as elementary_charge
from scipy.constants import k as boltzmann

from modewright.transducers.node import node_impedance_ohm
from modewright.transducers.pickup_signal import pickup_path, volts_per_coordinate
from modewright.transducers.preamp import ChargeAmplifier
from modewright.transducers.stage import path_response

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.basis import ModalBasis
    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.gap import BiasedGap

__all__ = [
    "AUDIO_BAND_HZ",
    "NoiseTotals",
    "electrical_noise_v2_per_hz",
    "equivalent_white_noise_v_per_rthz",
    "ktc_noise_v",
    "noise_totals",
    "signal_to_noise_db",
    "thermal_motion_v2_per_hz",
]

AUDIO_BAND_HZ = (20.0, 20e3)
_PANEL_NODES = 8
_PANELS_PER_OCTAVE = 4
_HALVINGS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseTotals:
    """Noise voltage in a band by contributor.

    Parameters
    ----------
    contributor_v : dict of str to float
        Root mean square of each contributor alone. [V]
    """

    contributor_v: dict[str, float]

    @property
    def total_v(self) -> float:
        """Root mean square of all together. [V]"""
        return float(np.sqrt(sum(v**2 for v in self.contributor_v.values())))


def ktc_noise_v(pickup: CapacitivePickup, capacitance_f: float, temperature_k: float) -> float:
    """Thermal noise of the resistor that sets the corner, over all frequencies.

    Parameters
    ----------
    pickup : CapacitivePickup
    capacitance_f : float
        Of the gap. [F]
    temperature_k : float
        [K]

    Returns
    -------
    float
        sqrt(k T/C), whatever the resistance; C is the feedback capacitor of a charge amplifier,
        the sum of gap and stray with a follower. [V]
    """
    amp = pickup.preamp
    total_f = capacitance_f + pickup.stray_capacitance_f
    held_f = amp.feedback_capacitance_f if isinstance(amp, ChargeAmplifier) else total_f
    return float(np.sqrt(boltzmann * temperature_k / held_f))


def electrical_noise_v2_per_hz(
    pickup: CapacitivePickup,
    capacitance_f: float,
    freq_hz: NDArray[np.float64],
    temperature_k: float,
) -> dict[str, NDArray[np.float64]]:
    """Spectral density of each electrical contributor.

    Parameters
    ----------
    pickup : CapacitivePickup
    capacitance_f : float
        Of the gap. [F]
    freq_hz : float array, shape (frequencies,)
        > 0. [Hz]
    temperature_k : float
        [K]

    Returns
    -------
    dict of str to float array, shape (frequencies,)
        Bias resistor, amplifier voltage with its 1/f part, amplifier current and, where there are
        such, leakage over the board, shot noise of the input current, feedback resistor. [V²/Hz]

    Notes
    -----
    The charge amplifier's bias resistor hangs on its input through a coupling capacitor that is
    taken as large.
    """
    amp = pickup.preamp
    s = 2j * np.pi * freq_hz
    resistor_a2 = 4 * boltzmann * temperature_k / pickup.bias_resistance_ohm
    total_f = capacitance_f + pickup.stray_capacitance_f
    input_admittance = s * total_f + 1 / pickup.node_resistance_ohm
    transfer = node_impedance_ohm(pickup, capacitance_f, freq_hz)
    if isinstance(amp, ChargeAmplifier):
        noise_gain = 1 + transfer * input_admittance
    else:
        noise_gain = np.ones_like(s)
    band = np.abs(pickup_path(pickup, capacitance_f)[1].response(freq_hz)) ** 2
    current_gain = band * np.abs(transfer) ** 2
    voltage_v2 = amp.voltage_noise_v_per_rthz**2 * (1 + amp.voltage_noise_corner_hz / freq_hz)
    found = {
        "bias resistor": resistor_a2 * current_gain,
        "amplifier voltage": voltage_v2 * band * np.abs(noise_gain) ** 2,
        "amplifier current": amp.current_noise_a_per_rthz**2 * current_gain,
    }
    if pickup.leakage_resistance_ohm is not None:
        leak_a2 = 4 * boltzmann * temperature_k / pickup.leakage_resistance_ohm
        found["board leakage"] = leak_a2 * current_gain
    if amp.input_current_a:
        found["input current"] = 2 * elementary_charge * amp.input_current_a * current_gain
    if isinstance(amp, ChargeAmplifier):
        feedback_a2 = 4 * boltzmann * temperature_k / amp.feedback_resistance_ohm
        found["feedback resistor"] = feedback_a2 * current_gain
    return found


def thermal_motion_v2_per_hz(
    pickup: CapacitivePickup,
    biased: BiasedGap,
    basis: ModalBasis,
    freq_hz: NDArray[np.float64],
    temperature_k: float,
) -> NDArray[np.float64]:
    """Spectral density of what the pickup hears of the body's own thermal motion.

    Parameters
    ----------
    pickup, biased, basis : CapacitivePickup, BiasedGap, ModalBasis
        In the same modes.
    freq_hz : float array, shape (frequencies,)
        [Hz]
    temperature_k : float
        [K]

    Returns
    -------
    float array, shape (frequencies,)
        Sum over the modes, each driven by a force of density 4 k T · 2 ζ ω. [V²/Hz]
    """
    omega, loss = basis.omega_rad_s, 2 * basis.damping_ratio * basis.omega_rad_s
    w = 2 * np.pi * freq_hz[:, None]
    motion = 4 * boltzmann * temperature_k * loss / ((omega**2 - w**2) ** 2 + (loss * w) ** 2)
    path = path_response(pickup_path(pickup, biased.gap.permeance), freq_hz)
    return np.abs(path) ** 2 * (motion @ volts_per_coordinate(pickup, biased) ** 2)


def noise_totals(
    pickup: CapacitivePickup,
    biased: BiasedGap,
    basis: ModalBasis,
    *,
    temperature_k: float = 293.15,
    band_hz: tuple[float, float] = AUDIO_BAND_HZ,
) -> NoiseTotals:
    """Noise voltage in a band by contributor.

    Parameters
    ----------
    pickup, biased, basis : CapacitivePickup, BiasedGap, ModalBasis
        In the same modes.
    temperature_k : float
        [K]
    band_hz : tuple of two floats
        [Hz]

    Returns
    -------
    NoiseTotals
    """
    freq_hz, weight_hz = _band_points(band_hz, basis)
    densities = electrical_noise_v2_per_hz(pickup, biased.gap.permeance, freq_hz, temperature_k) | {
        "thermal motion": thermal_motion_v2_per_hz(pickup, biased, basis, freq_hz, temperature_k)
    }
    return NoiseTotals(
        contributor_v={name: float(np.sqrt(d @ weight_hz)) for name, d in densities.items()}
    )


def _band_points(
    band_hz: tuple[float, float], basis: ModalBasis
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Gauss–Legendre points on panels that shrink towards every resonance."""
    low, high = band_hz
    octaves = int(np.ceil(np.log2(high / low) * _PANELS_PER_OCTAVE))
    edges = [np.geomspace(low, high, octaves + 1)]
    for f, zeta in zip(basis.freq_hz, basis.damping_ratio, strict=True):
        reach = zeta * 2.0 ** np.arange(-1, _HALVINGS)
        reach = reach[reach < 1 / 2]
        edges.append(f * np.concatenate([1 - reach, [1.0], 1 + reach]))
    every = np.unique(np.concatenate(edges))
    every = every[(every >= low) & (every <= high)]
    node, weight = np.polynomial.legendre.leggauss(_PANEL_NODES)
    half = np.diff(every)[:, None] / 2
    middle = (every[1:] + every[:-1])[:, None] / 2
    return (middle + half * node).ravel(), (half * weight).ravel()


def equivalent_white_noise_v_per_rthz(
    pickup: CapacitivePickup,
    capacitance_f: float,
    freq_hz: NDArray[np.float64],
    *,
    temperature_k: float = 293.15,
) -> float:
    """White density that disturbs the modes as much as the true noise, on average.

    Parameters
    ----------
    pickup : CapacitivePickup
    capacitance_f : float
        [F]
    freq_hz : float array, shape (modes,)
        Frequencies of the modes; those above the audio band are left out unless all are. [Hz]
    temperature_k : float
        [K]

    Returns
    -------
    float
        Root mean square of the electrical density at the modes. Thermal motion is not among it:
        it is motion, and the loop is right to see it. [V/√Hz]
    """
    inside = freq_hz[freq_hz <= AUDIO_BAND_HZ[1]]
    at = inside if len(inside) else freq_hz
    densities = electrical_noise_v2_per_hz(pickup, capacitance_f, at, temperature_k)
    total = np.array(list(densities.values())).sum(axis=0)
    return float(np.sqrt(total.mean()))


def signal_to_noise_db(
    pickup: CapacitivePickup,
    biased: BiasedGap,
    basis: ModalBasis,
    reference: NDArray[np.float64],
    motion_m: float,
    noise_v: float,
) -> NDArray[np.float64]:
    """Level of each mode alone over a noise voltage.

    Parameters
    ----------
    pickup, biased, basis : CapacitivePickup, BiasedGap, ModalBasis
        In the same modes.
    reference : float array, shape (modes,)
        Displacement of the reference point per modal coordinate. [1/sqrt(kg)]
    motion_m : float
        Peak displacement of the reference point. [m]
    noise_v : float
        Root mean square, such as `NoiseTotals.total_v`. [V]

    Returns
    -------
    float array, shape (modes,)
        Infinite where the reference point lies on a node, not a number where the plate does too.
        [dB]
    """
    path = np.abs(path_response(pickup_path(pickup, biased.gap.permeance), basis.freq_hz))
    with np.errstate(divide="ignore", invalid="ignore"):
        coordinate = motion_m / np.abs(reference)
        signal_v = np.abs(volts_per_coordinate(pickup, biased)) * coordinate * path / np.sqrt(2)
        return 20 * np.log10(signal_v / noise_v)
