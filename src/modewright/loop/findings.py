"""What stands against a loop, in sentences for whoever designs it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.decay import DECAY_60_DB
from modewright.loop.authority import WANTED_GAIN_MARGIN_DB, WANTED_PHASE_MARGIN_DEG

if TYPE_CHECKING:
    from modewright.loop.authority import Authority
    from modewright.loop.case import LoopCase
    from modewright.loop.judge import JudgedStates
    from modewright.loop.plant import Plant
    from modewright.loop.regulators import Regulators
    from modewright.loop.settings import ModeControl

__all__ = [
    "aliases",
    "beyond_authority",
    "growth_sentences",
    "instabilities",
    "longer_decays",
    "missed_decays",
    "straight_decays",
    "thin_margins",
    "too_much_together",
]

_NAMED_AT_MOST = 3
_MISSED_SHARE = 0.1
# A decay this little longer than the mode's own is the same.
_LONGER_SHARE = 0.02
# The stated states and everything damped.
_ALWAYS_TOLD = 2
# A motion this far from every mode, as a share of its frequency, is none of a mode's.
_BESIDE_SHARE = 0.03
# Margins that differ by less, in dB or degrees, are the same one seen twice.
_THINNER = 0.1


def instabilities(plant: Plant, judged: tuple[JudgedStates, ...]) -> list[str]:
    """What grows, the fastest first; in the states beyond the first two only what is new."""
    found: list[str] = []
    told: set[str] = set()
    for index, case in enumerate(judged):
        who = [_who(plant, motion.freq_hz) for motion in case.growing[:_NAMED_AT_MOST]]
        who += [f"level {mode}" for mode in case.hunting]
        if index >= _ALWAYS_TOLD and told.issuperset(who):
            continue
        told.update(who)
        found += growth_sentences(plant, case)
    return found


def growth_sentences(plant: Plant, case: JudgedStates) -> list[str]:
    """What grows in given states, and which regulator makes it.

    Parameters
    ----------
    plant : Plant
    case : JudgedStates

    Returns
    -------
    list of str
        Empty if nothing grows.
    """
    found = [
        f"Unstable ({case.name}): {_who(plant, motion.freq_hz)} grows at {motion.freq_hz:.1f} Hz"
        + (
            ""
            if np.isnan(motion.rate_per_s)
            else f", by 60 dB in {DECAY_60_DB / motion.rate_per_s * 1e3:.3g} ms"
        )
        + "."
        for motion in case.growing[:_NAMED_AT_MOST]
    ]
    if len(case.growing) > _NAMED_AT_MOST:
        found.append(
            f"Unstable ({case.name}): {len(case.growing) - _NAMED_AT_MOST} more motions grow."
        )
    if found and case.cures:
        modes = " or ".join(f"mode {i + 1} ({plant.labels[i]})" for i in case.cures)
        found[0] += (
            f" Without the regulator of {modes} nothing grows: ask less of it, with a longer "
            "decay or attack, or leave it free."
        )
    return found + [
        f"Unstable ({case.name}): the level of mode {i + 1} ({plant.labels[i]}), which is held, "
        "hunts and does not settle. A longer attack or a lower loop.observer_bandwidth helps."
        for i in case.hunting
    ]


def _who(plant: Plant, freq_hz: float) -> str:
    """The mode at a frequency, or that there is none: then it is observer, filters or delay."""
    index = int(np.argmin(np.abs(plant.sampled_freq_hz - freq_hz)))
    apart_hz = abs(float(plant.sampled_freq_hz[index]) - freq_hz)
    if apart_hz > _BESIDE_SHARE * freq_hz:
        return "a motion of observer, filters or delay, away from every mode,"
    return f"mode {index + 1} ({plant.labels[index]})"


def thin_margins(plant: Plant, judged: tuple[JudgedStates, ...]) -> list[str]:
    """Margins below what is usual, with the mode next to them.

    Beyond the first two states only the thinnest is told, if it is thinner than theirs.
    """
    stable = [case for case in judged if case.is_stable]
    first = [case for case in judged[:_ALWAYS_TOLD] if case.is_stable]
    if not stable:
        return []
    gains = {case.name: case.margins.gain_db for case in stable}
    phases = {case.name: case.margins.phase_deg for case in stable}
    found: list[str] = []
    for sentence, least, usual in (
        (_gain_text, gains, WANTED_GAIN_MARGIN_DB),
        (_phase_text, phases, WANTED_PHASE_MARGIN_DEG),
    ):
        thin = [case for case in first if least[case.name] < usual]
        bound = min([usual, *(least[case.name] - _THINNER for case in thin)])
        thinnest = min(stable, key=lambda case: least[case.name])
        if thinnest not in thin and least[thinnest.name] < bound:
            thin.append(thinnest)
        found += [sentence(plant, case) for case in thin]
    return found


def _gain_text(plant: Plant, case: JudgedStates) -> str:
    margins = case.margins
    return (
        f"Thin gain margin ({case.name}): {margins.gain_db:.1f} dB at "
        f"{margins.gain_freq_hz:.0f} Hz, next to {_nearest(plant, margins.gain_freq_hz)}; "
        f"{WANTED_GAIN_MARGIN_DB:.0f} dB is usual."
    )


def _phase_text(plant: Plant, case: JudgedStates) -> str:
    margins = case.margins
    return (
        f"Thin phase margin ({case.name}): {margins.phase_deg:.0f} degrees at "
        f"{margins.phase_freq_hz:.0f} Hz, next to {_nearest(plant, margins.phase_freq_hz)}; "
        f"{WANTED_PHASE_MARGIN_DEG:.0f} degrees is usual."
    )


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


def longer_decays(plant: Plant, controls: tuple[ModeControl, ...]) -> list[str]:
    """Decays asked for that are longer than the mode's own, which no damping gives."""
    found: list[str] = []
    for control in (control for control in controls if control.state != "free"):
        index = control.number - 1
        alone_s = DECAY_60_DB / float(plant.decay_rate_per_s[index])
        if control.decay_s > alone_s * (1 + _LONGER_SHARE):
            found.append(
                f"Longer than its own: mode {control.number} ({plant.labels[index]}) is to decay "
                f"in {control.decay_s:.3g} s, but left alone it dies in {alone_s:.3g} s; damping "
                "does not lengthen that and leaves it as it is."
            )
    return found


def straight_decays(
    plant: Plant,
    regulators: Regulators,
    controls: tuple[ModeControl, ...],
    authority: Authority,
) -> list[str]:
    """Damped modes whose level is above the one up to which the driver keeps the wanted decay."""
    found: list[str] = []
    for row, control in enumerate(controls):
        level_m, linear_m = float(regulators.level_m[row]), float(authority.linear_level_m[row])
        if control.state == "damped" and linear_m < level_m:
            mode = control.number - 1
            found.append(
                f"Decay beyond the driver: mode {control.number} ({plant.labels[mode]}) is to "
                f"decay in {control.decay_s:.3g} s, which the driver keeps only below "
                f"{linear_m * 1e6:.3g} um; from its level of {level_m * 1e6:.3g} um it is at its "
                f"limit first, and 60 dB take {float(authority.damped_fall_s[row]):.3g} s."
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
