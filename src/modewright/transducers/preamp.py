"""Preamplifiers of a capacitive pickup, as sections of the design file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from modewright.parameters import choice, quantity

__all__ = ["DIODES", "ChargeAmplifier", "Follower", "Preamp"]

DIODES = ("both sides", "one side", "none")


@dataclass(frozen=True, slots=True, kw_only=True)
class Follower:
    """Voltage follower: the plate keeps its charge, the stray capacitance shares it."""

    kind: ClassVar[str] = "follower"

    voltage_noise_v_per_rthz: float = quantity(
        "V/rtHz",
        "Noise voltage density at the input.",
        default=5e-9,
        show="nV/rtHz",
        at_least=0.0,
        plausible=(1e-10, 1e-6),
    )
    voltage_noise_corner_hz: float = quantity(
        "Hz",
        "Frequency at which the 1/f noise voltage is as dense as the white one.",
        default=0.0,
        at_least=0.0,
        plausible=(0.0, 1e4),
    )
    current_noise_a_per_rthz: float = quantity(
        "A/rtHz",
        "Noise current density at the input.",
        default=1e-15,
        show="fA/rtHz",
        at_least=0.0,
        plausible=(1e-17, 1e-11),
    )
    input_current_a: float = quantity(
        "A",
        "Steady current of the input whose shot noise is not yet in current_noise.",
        default=0.0,
        show="pA",
        at_least=0.0,
        plausible=(0.0, 1e-8),
    )
    bandwidth_hz: float = quantity(
        "Hz", "Upper corner frequency.", default=1e6, show="kHz", above=0.0, plausible=(1e4, 1e8)
    )
    full_scale_v: float = quantity(
        "V", "Peak output at which it clips.", default=10.0, above=0.0, plausible=(0.5, 50.0)
    )
    diodes: str = choice(
        "Diodes of the input: on both sides, on one, or none.",
        DIODES,
        default="both sides",
    )
    clamp_v: float | None = quantity(
        "V",
        "Voltage at which they conduct; 0.6 V above full_scale if left out.",
        default=None,
        above=0.0,
        plausible=(0.1, 60.0),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeAmplifier:
    """Charge amplifier: the plate stays at constant voltage, whatever the stray capacitance."""

    kind: ClassVar[str] = "charge amplifier"

    feedback_capacitance_f: float = quantity(
        "F", "Feedback capacitor.", default=1e-12, show="pF", above=0.0, plausible=(1e-13, 1e-8)
    )
    feedback_resistance_ohm: float = quantity(
        "ohm", "Feedback resistor.", default=1e10, show="Gohm", above=0.0, plausible=(1e6, 1e13)
    )
    voltage_noise_v_per_rthz: float = quantity(
        "V/rtHz",
        "Noise voltage density at the input.",
        default=5e-9,
        show="nV/rtHz",
        at_least=0.0,
        plausible=(1e-10, 1e-6),
    )
    voltage_noise_corner_hz: float = quantity(
        "Hz",
        "Frequency at which the 1/f noise voltage is as dense as the white one.",
        default=0.0,
        at_least=0.0,
        plausible=(0.0, 1e4),
    )
    current_noise_a_per_rthz: float = quantity(
        "A/rtHz",
        "Noise current density at the input.",
        default=1e-15,
        show="fA/rtHz",
        at_least=0.0,
        plausible=(1e-17, 1e-11),
    )
    input_current_a: float = quantity(
        "A",
        "Steady current of the input whose shot noise is not yet in current_noise.",
        default=0.0,
        show="pA",
        at_least=0.0,
        plausible=(0.0, 1e-8),
    )
    bandwidth_hz: float = quantity(
        "Hz", "Upper corner frequency.", default=1e6, show="kHz", above=0.0, plausible=(1e4, 1e8)
    )
    full_scale_v: float = quantity(
        "V", "Peak output at which it clips.", default=10.0, above=0.0, plausible=(0.5, 50.0)
    )
    diodes: str = choice(
        "Diodes of the input: on both sides, on one, or none.",
        DIODES,
        default="both sides",
    )
    clamp_v: float = quantity(
        "V",
        "Voltage of the input at which they conduct.",
        default=0.6,
        above=0.0,
        plausible=(0.1, 60.0),
    )


Preamp = Follower | ChargeAmplifier
