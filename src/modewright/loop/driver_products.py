"""Tones that a pull with the square of the flux makes of held modes, where they move another mode.

An electromagnet pulls as (i0 + i)², i0 being the current that would make the flux of its bias.
Currents I cos and J cos that hold two modes then push, besides, as I²/(4 i0) would at twice the
frequency, and as I J/(2 i0) at the sum and the difference (the trigonometric identities).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["driver_products_on_modes", "moved_m"]

# A mode is named if it is moved by this share of its own level, or of the held mode's if it has
# none.
_TOLD_SHARE = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class _Push:
    """What the square of the current adds, as a current that would push as much."""

    name: str
    parents: tuple[int, ...]
    freq_hz: float
    current_a: float
    level_m: float


def moved_m(plant: Plant, freq_hz: float, current_a: float) -> NDArray[np.float64]:
    """Steady swing of every mode, left alone by the loop, under a current.

    Parameters
    ----------
    plant : Plant
    freq_hz : float
        Of the current. [Hz]
    current_a : float
        Amplitude. [A]

    Returns
    -------
    float array, shape (modes,)
        Amplitude at the reference point, A/|ω0² - ω² + 2j ζ ω0 ω|. [m]
    """
    omega, own = 2 * np.pi * freq_hz, 2 * np.pi * plant.freq_hz
    # A push through one sample at resonance adds the gain: acceleration/(2 ω) times the sample.
    per_ampere = np.abs(plant.drive_gain / plant.drive_per_command) * plant.rate_hz * own
    return (
        per_ampere * current_a / np.abs(own**2 - omega**2 + 2j * plant.damping_ratio * own * omega)
    )


def driver_products_on_modes(plant: Plant, regulators: Regulators) -> list[str]:
    """Modes that tones of the driver move, each as a sentence.

    Parameters
    ----------
    plant, regulators : Plant, Regulators

    Returns
    -------
    list of str
    """
    own_m = {
        int(mode): float(level)
        for mode, level in zip(regulators.modes, regulators.level_m, strict=True)
    }
    found: list[str] = []
    for push in _pushes(plant, regulators):
        moved = moved_m(plant, push.freq_hz, push.current_a)
        found += [
            _sentence(plant, push, mode, float(moved[mode]), own_m.get(mode))
            for mode in range(plant.mode_count)
            if mode not in push.parents
            and moved[mode] > _TOLD_SHARE * own_m.get(mode, push.level_m)
        ]
    return found


def _pushes(plant: Plant, regulators: Regulators) -> list[_Push]:
    if np.isinf(plant.bias_current_a):
        return []
    modes = regulators.modes
    command = regulators.sustain_gain * regulators.level_m
    current = np.abs(command * plant.drive_per_command[modes])
    held = [
        (int(mode), float(amplitude), float(level))
        for mode, amplitude, level, state in zip(
            modes, current, regulators.level_m, regulators.state, strict=True
        )
        if state == "held"
    ]
    freq = plant.freq_hz
    found = [
        _Push(
            name="twice the pitch",
            parents=(mode,),
            freq_hz=2 * float(freq[mode]),
            current_a=amplitude**2 / (4 * plant.bias_current_a),
            level_m=level,
        )
        for mode, amplitude, level in held
    ]
    for (i, one, level), (j, other, other_level) in itertools.combinations(held, 2):
        found += [
            _Push(
                name=name,
                parents=(i, j),
                freq_hz=abs(float(freq[i] + sign * freq[j])),
                current_a=one * other / (2 * plant.bias_current_a),
                level_m=max(level, other_level),
            )
            for sign, name in ((1, "the sum"), (-1, "the difference"))
        ]
    return found


def _sentence(plant: Plant, push: _Push, mode: int, moved_m: float, level_m: float | None) -> str:
    parents = " and ".join(f"mode {i + 1} ({plant.labels[i]})" for i in push.parents)
    are_held = "which is to be held" if len(push.parents) == 1 else "which are to be held"
    against = (
        ""
        if level_m is None
        else f" ({20 * np.log10(moved_m / level_m):.0f} dB against its level) if it is left alone"
    )
    away_hz = abs(push.freq_hz - float(plant.freq_hz[mode]))
    return (
        f"Harmonic of the driver: {push.name} of {parents}, {are_held}, lies {away_hz:.1f} Hz from "
        f"mode {mode + 1} ({plant.labels[mode]}). The square of the coil's current pushes there as "
        f"{push.current_a * 1e3:.2g} mA would and moves mode {mode + 1} by {moved_m * 1e6:.2g} um"
        f"{against}. Half the held level lowers it by 12 dB; a stronger bias_flux_density or "
        "another ratio of the two modes helps too."
    )
