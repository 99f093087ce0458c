"""What stands against a loop, in sentences for whoever designs it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.decay import DECAY_60_DB
from modewright.loop.authority import WANTED_GAIN_MARGIN_DB, WANTED_PHASE_MARGIN_DEG
from modewright.loop.poles import ROUND_OFF_PER_S

if TYPE_CHECKING:
    from modewright.loop.authority import Authority
    from modewright.loop.case import LoopCase
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators
    from modewright.loop.settings import ModeControl

__all__ = [
    "aliases",
    "beyond_authority",
    "instabilities",
    "missed_decays",
    "thin_margins",
    "too_much_together",
]

_NAMED_AT_MOST = 3
_MISSED_SHARE = 0.1


def instabilities(plant: Plant, case: LoopCase) -> list[str]:
    """The modes that grow, the fastest first; a howl drags others along, which need no sentence."""
    rates = case.poles.decay_rate_per_s
    growing = [int(i) for i in np.argsort(rates) if rates[i] <= -ROUND_OFF_PER_S]
    found = [
        f"Unstable ({case.name}): mode {i + 1} ({plant.labels[i]}) grows at "
        f"{case.poles.freq_hz[i]:.1f} Hz, by 60 dB in {DECAY_60_DB / -rates[i] * 1e3:.3g} ms."
        for i in growing[:_NAMED_AT_MOST]
    ]
    if len(growing) > _NAMED_AT_MOST:
        found.append(f"Unstable ({case.name}): {len(growing) - _NAMED_AT_MOST} more modes grow.")
    if case.poles.growing_count > 2 * len(growing):
        found.append(
            f"Unstable ({case.name}): a motion of the observer, of a filter or round the delay "
            "grows."
        )
    return found


def thin_margins(plant: Plant, case: LoopCase) -> list[str]:
    """Margins below what is usual, with the mode next to them."""
    margins = case.margins
    if not case.poles.is_stable:
        return []
    found: list[str] = []
    if margins.gain_db < WANTED_GAIN_MARGIN_DB:
        found.append(
            f"Thin gain margin ({case.name}): {margins.gain_db:.1f} dB at "
            f"{margins.gain_freq_hz:.0f} Hz, next to {_nearest(plant, margins.gain_freq_hz)}; "
            f"{WANTED_GAIN_MARGIN_DB:.0f} dB is usual."
        )
    if margins.phase_deg < WANTED_PHASE_MARGIN_DEG:
        found.append(
            f"Thin phase margin ({case.name}): {margins.phase_deg:.0f} degrees at "
            f"{margins.phase_freq_hz:.0f} Hz, next to {_nearest(plant, margins.phase_freq_hz)}; "
            f"{WANTED_PHASE_MARGIN_DEG:.0f} degrees is usual."
        )
    return found


def _nearest(plant: Plant, freq_hz: float) -> str:
    index = int(np.argmin(np.abs(plant.sampled_freq_hz - freq_hz)))
    return f"mode {index + 1} ({plant.labels[index]})"


def missed_decays(plant: Plant, controls: tuple[ModeControl, ...], case: LoopCase) -> list[str]:
    """Treated modes whose decay comes out otherwise than the design asks for."""
    if not case.poles.is_stable:
        return []
    found: list[str] = []
    for control in controls:
        index = control.number - 1
        alone_s = DECAY_60_DB / float(plant.decay_rate_per_s[index])
        wanted_s = min(control.decay_s, alone_s)
        comes_s = DECAY_60_DB / float(case.poles.decay_rate_per_s[index])
        if abs(comes_s / wanted_s - 1) > _MISSED_SHARE:
            found.append(
                f"Missed decay: mode {control.number} ({plant.labels[index]}) is to decay in "
                f"{wanted_s:.3g} s, but with everything damped it takes {comes_s:.3g} s; observer "
                "bandwidth and delay limit it."
            )
    return found


def too_much_together(plant: Plant, regulators: Regulators, authority: Authority) -> list[str]:
    """Held modes that the driver bears one by one but not together."""
    held = [i for i, state in enumerate(regulators.state) if state == "held"]
    total = float(np.sum(authority.hold_command[held]))
    if len(held) < 2 or total <= plant.command_limit:
        return []
    return [
        f"Beyond the driver together: the {len(held)} held modes need {total:.3g} "
        f"{plant.command_unit}, the limit is {plant.command_limit:.3g} {plant.command_unit}."
    ]


def beyond_authority(plant: Plant, regulators: Regulators, authority: Authority) -> list[str]:
    """Held modes whose level passes a limit of their own."""
    return [
        f"Beyond the {limit}: mode {mode + 1} ({plant.labels[mode]}) is to be held at "
        f"{level * 1e6:.3g} um, but {reason} allows at most {highest * 1e6:.3g} um."
        for limit, reason, most in (
            (
                "driver",
                f"the command limit of {plant.command_limit:.3g} {plant.command_unit}",
                authority.highest_level_driver_m,
            ),
            (
                "input",
                f"the full scale of {plant.full_scale_v:.3g} V",
                authority.highest_level_input_m,
            ),
            ("gap", "the gap to a plate or pole", authority.highest_level_gap_m),
        )
        for mode, state, level, highest in zip(
            regulators.modes, regulators.state, regulators.level_m, most, strict=True
        )
        if state == "held" and level > highest
    ]


def aliases(plant: Plant) -> list[str]:
    """Modes above half the rate, which the controller hears where they are not."""
    above = [int(i) for i in np.nonzero(plant.is_aliased)[0]]
    found = [
        f"Above half the rate: mode {i + 1} ({plant.labels[i]}) at {plant.freq_hz[i]:.0f} Hz is "
        f"heard as {plant.sampled_freq_hz[i]:.0f} Hz. Poles and margins count it; a steeper "
        "anti-alias filter or a higher electronics.converter_rate makes it weaker."
        for i in above[:_NAMED_AT_MOST]
    ]
    if len(above) > _NAMED_AT_MOST:
        found.append(f"Above half the rate: {len(above) - _NAMED_AT_MOST} more modes.")
    return found
