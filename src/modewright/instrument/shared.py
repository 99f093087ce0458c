"""The ``[shared]`` section: electronics that all notes use together."""

from __future__ import annotations

from dataclasses import dataclass

from modewright.parameters import count, quantity

__all__ = ["SharedElectronics"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedElectronics:
    """Channels and supply, and what couples the notes electrically."""

    input_channels: int = count("Channels of the input converter.", default=16, at_least=1)
    output_channels: int = count("Channels of the output converter.", default=16, at_least=1)
    voices: int = count(
        "How many notes sound at once; those that draw most are counted. 0 for all.", default=0
    )
    supply_v: float = quantity(
        "V", "Voltage of each rail of the power supply.", default=12.0, above=0.0,
        plausible=(1.0, 100.0),
    )  # fmt: skip
    supply_limit_a: float = quantity(
        "A", "Current that each rail gives for ever.", default=2.0, above=0.0,
        plausible=(0.01, 100.0),
    )  # fmt: skip
    quiescent_current_a: float = quantity(
        "A", "Current that each note draws at rest, preamplifier and amplifier together.",
        default=10e-3, show="mA", at_least=0.0, plausible=(0.0, 1.0),
    )  # fmt: skip
    board_permittivity: float = quantity(
        "1", "Relative permittivity of the board that carries the pickup plates.", default=4.4,
        at_least=1.0, plausible=(1.0, 15.0),
    )  # fmt: skip
    wiring_loop_m2: float = quantity(
        "m**2", "Area of the loop that the wires of a pickup make in the field of the coils.",
        default=20e-6, show="mm**2", at_least=0.0, plausible=(0.0, 1e-2),
    )  # fmt: skip
