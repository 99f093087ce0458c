"""Pitch and settling of the modes that are held, from their steady swings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.loop.case import HeldMode
from modewright.loop.level_loop import level_loop

if TYPE_CHECKING:
    from modewright.loop.observer import Observer
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators

__all__ = ["held_modes"]


def held_modes(
    plant: Plant, observer: Observer, regulators: Regulators, states: tuple[str, ...]
) -> tuple[HeldMode, ...]:
    """Find the steady swing of every held mode, the others acting as their linear gains.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    states : tuple of str, length regulated

    Returns
    -------
    tuple of HeldMode
        Without those that have no steady swing.
    """
    found: list[HeldMode] = []
    for row in (row for row, state in enumerate(states) if state == "held"):
        loop = level_loop(plant, observer, regulators, states, row)
        swing = loop.swing()
        if swing is None:
            continue
        mode = int(regulators.modes[row])
        ratio = swing.freq_hz / float(plant.sampled_freq_hz[mode])
        damped_hz = float(plant.freq_hz[mode] * np.sqrt(1 - plant.damping_ratio[mode] ** 2))
        found.append(
            HeldMode(
                mode=mode,
                freq_hz=damped_hz * ratio,
                shift_cents=float(1200 * np.log2(ratio)),
                level_rate_per_s=loop.level_rate_per_s(swing),
            )
        )
    return tuple(found)
