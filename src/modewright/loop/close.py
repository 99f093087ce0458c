"""Close the loop on paper: observer, regulators, poles, margins, authority and a verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.decay import DECAY_60_DB
from modewright.errors import LoopError
from modewright.loop.authority import (
    WANTED_GAIN_MARGIN_DB,
    WANTED_PHASE_MARGIN_DEG,
    Authority,
    loop_authority,
)
from modewright.loop.margins import Margins, margins_from_response
from modewright.loop.observer import Observer, design_observer
from modewright.loop.poles import ROUND_OFF_PER_S, LoopPoles, loop_poles
from modewright.loop.regulators import Regulators, design_regulators
from modewright.loop.transfer import frequency_grid_hz, loop_terms

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.plant import Plant
    from modewright.loop.settings import LoopSettings, ModeControl

__all__ = ["ClosedLoop", "LoopCase", "close_loop"]


_HEARD_SHARE = 1e-3
_NAMED_AT_MOST = 3
_MISSED_SHARE = 0.1
_HARMONIC_REACH = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopCase:
    """The loop with every treated mode in a given state.

    Parameters
    ----------
    name : str
        What the case stands for.
    states : tuple of str, length regulated
        ``free``, ``held`` or ``damped`` of each treated mode.
    gain : float array, shape (regulated,)
        Linear gains that stand for the regulators. [command/m]
    poles : LoopPoles
    margins : Margins
    response : complex array, shape (freqs,)
        Open-loop response on the grid of `ClosedLoop.freq_hz`.
    """

    name: str
    states: tuple[str, ...]
    gain: NDArray[np.float64]
    poles: LoopPoles
    margins: Margins
    response: NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClosedLoop:
    """Everything known about the loop before a note is played.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    freq_hz : float array, shape (freqs,)
        Grid of the responses. [Hz]
    stated, all_damped : LoopCase
        The states that the design asks for, and the hardest work the loop can be given.
    authority : Authority
    findings : tuple of str
        What stands against the loop, in sentences; empty if nothing does.
    """

    plant: Plant
    observer: Observer
    regulators: Regulators
    freq_hz: NDArray[np.float64]
    stated: LoopCase
    all_damped: LoopCase
    authority: Authority
    findings: tuple[str, ...]

    @property
    def is_stable(self) -> bool:
        """Whether the loop is stable in the stated states and with everything damped."""
        return self.stated.poles.is_stable and self.all_damped.poles.is_stable


def close_loop(plant: Plant, settings: LoopSettings) -> ClosedLoop:
    """Design observer and regulators and predict what they do.

    Parameters
    ----------
    plant : Plant
        With every mode that the prediction should include.
    settings : LoopSettings

    Returns
    -------
    ClosedLoop

    Raises
    ------
    LoopError
        If a treated mode does not exist, is not heard, or cannot be moved.
    """
    controls = settings.modes
    modes = _observed_modes(plant, controls, settings.modelled_modes)
    observer = design_observer(plant, modes, settings.observer_bandwidth_hz)
    regulators = design_regulators(plant, observer, controls)
    grid_hz = frequency_grid_hz(plant, observer)
    terms = loop_terms(plant, observer, regulators, grid_hz)

    def case(name: str, states: tuple[str, ...]) -> LoopCase:
        gain = regulators.linear_gain(states)
        response = terms.response(gain)
        return LoopCase(
            name=name,
            states=states,
            gain=gain,
            poles=loop_poles(plant, observer, regulators, gain),
            margins=margins_from_response(grid_hz, response),
            response=response,
        )

    stated = case("as stated", regulators.state)
    all_damped = case("all damped", ("damped",) * len(controls))
    authority = loop_authority(plant, observer, regulators, terms)
    return ClosedLoop(
        plant=plant,
        observer=observer,
        regulators=regulators,
        freq_hz=grid_hz,
        stated=stated,
        all_damped=all_damped,
        authority=authority,
        findings=(
            *_instabilities(plant, stated),
            *_instabilities(plant, all_damped),
            *_thin_margins(plant, stated),
            *_thin_margins(plant, all_damped),
            *_missed_decays(plant, controls, all_damped),
            *_harmonics_on_modes(plant, observer, regulators),
            *_beyond_authority(plant, regulators, authority),
            *_too_much_together(plant, regulators, authority),
        ),
    )


def _observed_modes(
    plant: Plant, controls: tuple[ModeControl, ...], modelled: int
) -> NDArray[np.int64]:
    treated = [control.mode - 1 for control in controls]
    missing = [index + 1 for index in treated if index >= plant.mode_count]
    if missing:
        raise LoopError(
            f"loop.modes: expected numbers up to {plant.mode_count}, the modes below "
            f"{plant.freq_hz.max():.0f} Hz, got {', '.join(map(str, missing))}.",
            hint="Raise loop.highest_mode or leave the mode out.",
        )
    # A mode that the pickup does not hear, such as one that moves in the sheet's plane, cannot be
    # observed and need not be.
    heard = np.abs(plant.pickup_gain * plant.scale_per_sqrt_kg)
    others = [
        i
        for i in range(min(modelled, plant.mode_count))
        if i not in treated and heard[i] > _HEARD_SHARE * heard.max()
    ]
    return np.array([*treated, *others], dtype=np.int64)


def _instabilities(plant: Plant, case: LoopCase) -> list[str]:
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
    if case.poles.slowest_other_per_s <= -ROUND_OFF_PER_S:
        found.append(f"Unstable ({case.name}): a motion of the observer or a filter grows.")
    return found


def _thin_margins(plant: Plant, case: LoopCase) -> list[str]:
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
    index = int(np.argmin(np.abs(np.log(plant.freq_hz / freq_hz))))
    return f"mode {index + 1} ({plant.labels[index]})"


def _missed_decays(plant: Plant, controls: tuple[ModeControl, ...], case: LoopCase) -> list[str]:
    """Treated modes whose decay comes out otherwise than the design asks for."""
    if not case.poles.is_stable:
        return []
    found: list[str] = []
    for control in controls:
        index = control.mode - 1
        alone_s = DECAY_60_DB / float(plant.decay_rate_per_s[index])
        wanted_s = min(control.decay_s, alone_s)
        comes_s = DECAY_60_DB / float(case.poles.decay_rate_per_s[index])
        if abs(comes_s / wanted_s - 1) > _MISSED_SHARE:
            found.append(
                f"Missed decay: mode {control.mode} ({plant.labels[index]}) is to decay in "
                f"{wanted_s:.3g} s, but with everything damped it takes {comes_s:.3g} s; observer "
                "bandwidth and delay limit it."
            )
    return found


def _harmonics_on_modes(plant: Plant, observer: Observer, regulators: Regulators) -> list[str]:
    """Held modes of which the pickup makes a harmonic that the observer takes for another mode."""
    if plant.quadratic_per_v == 0 and plant.cubic_per_v2 == 0:
        return []
    reach_hz = _HARMONIC_REACH * observer.bandwidth_hz
    known = [int(mode) for mode in observer.modes]
    return [
        f"Harmonic on a mode: {name} of mode {int(mode) + 1} ({plant.labels[mode]}), which is to "
        f"be held, lies {abs(times * plant.freq_hz[mode] - plant.freq_hz[other]):.1f} Hz from mode "
        f"{other + 1} ({plant.labels[other]}); the pickup's curvature makes it and the observer "
        "takes it for that mode."
        for mode, state in zip(regulators.modes, regulators.state, strict=True)
        if state == "held"
        for times, name in ((2, "twice the pitch"), (3, "three times the pitch"))
        for other in known
        if other != mode and abs(times * plant.freq_hz[mode] - plant.freq_hz[other]) < reach_hz
    ]


def _too_much_together(plant: Plant, regulators: Regulators, authority: Authority) -> list[str]:
    """Held modes that the driver bears one by one but not together."""
    held = [i for i, state in enumerate(regulators.state) if state == "held"]
    total = float(np.sum(authority.hold_command[held]))
    if len(held) < 2 or total <= plant.command_limit:
        return []
    return [
        f"Beyond the driver together: the {len(held)} held modes need {total:.3g} "
        f"{plant.command_unit}, the limit is {plant.command_limit:.3g} {plant.command_unit}."
    ]


def _beyond_authority(plant: Plant, regulators: Regulators, authority: Authority) -> list[str]:
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
