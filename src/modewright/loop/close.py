"""Close the loop on paper: observer, regulators, poles, margins, authority and a verdict."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import LoopError
from modewright.loop.authority import Authority, loop_authority
from modewright.loop.case import LoopCase
from modewright.loop.drive_lag import lag_at_limit, lag_when_held
from modewright.loop.driver_products import driver_products_on_modes
from modewright.loop.filtered_states import band_pass_states, position_states, velocity_states
from modewright.loop.findings import (
    aliases,
    beyond_authority,
    instabilities,
    longer_decays,
    missed_decays,
    straight_decays,
    thin_margins,
    too_much_together,
)
from modewright.loop.held_modes import held_modes
from modewright.loop.judge import judge_states, states_to_judge
from modewright.loop.observer import Observer, design_observer
from modewright.loop.pickup_products import pickup_products_on_modes
from modewright.loop.poles import loop_poles
from modewright.loop.regulators import (
    Regulators,
    behind_band_pass,
    design_regulators,
    with_one_gain,
    without_holding,
)
from modewright.loop.transfer import frequency_grid_hz, loop_terms

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from modewright.loop.judge import JudgedStates
    from modewright.loop.plant import Plant
    from modewright.loop.settings import LoopSettings, ModeControl
    from modewright.loop.transfer import LoopTerms

__all__ = ["ClosedLoop", "LoopCase", "close_loop"]


_HEARD_SHARE = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClosedLoop:
    """Everything known about the loop before a note is played.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    freq_hz : float array, shape (freqs,)
        Grid of the responses. [Hz]
    stated, all_damped : LoopCase
        The states that the design asks for, and every treated mode damped.
    judged : tuple of JudgedStates
        These two, every treated mode held, and each held while the others are damped: a score may
        ask for any of them.
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
    judged: tuple[JudgedStates, ...]
    authority: Authority
    findings: tuple[str, ...]

    @property
    def is_stable(self) -> bool:
        """Whether nothing grows in any of the judged states."""
        cases = (self.stated, self.all_damped)
        return all(j.is_stable for j in self.judged) and all(c.poles.is_stable for c in cases)


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
    observer, regulators = _controller(plant, modes, settings)
    grid_hz = frequency_grid_hz(plant, observer)
    terms = loop_terms(plant, observer, regulators, grid_hz)
    judged = tuple(_judged(plant, observer, regulators, terms))
    margins_by_states = {case.states: case.margins for case in judged}

    def case(name: str, states: tuple[str, ...]) -> LoopCase:
        gain = regulators.linear_gain(states)
        response = terms.response(gain)
        return LoopCase(
            name=name,
            states=states,
            gain=gain,
            poles=loop_poles(plant, observer, regulators, gain, terms),
            held=held_modes(plant, observer, regulators, states),
            margins=margins_by_states[states],
            response=response,
        )

    loop = ClosedLoop(
        plant=plant,
        observer=observer,
        regulators=regulators,
        freq_hz=grid_hz,
        stated=case("as stated", regulators.state),
        all_damped=case("all damped", ("damped",) * len(controls)),
        judged=judged,
        authority=loop_authority(plant, observer, regulators, terms),
        findings=(),
    )
    return replace(loop, findings=_findings(loop, controls))


def _controller(
    plant: Plant, modes: NDArray[np.int64], settings: LoopSettings
) -> tuple[Observer, Regulators]:
    controls = settings.modes
    treated = modes[: len(controls)]
    if settings.method == "joint observer" or not len(treated):
        observer = design_observer(plant, modes, settings.observer_bandwidth_hz)
        return observer, design_regulators(plant, observer, controls)
    if settings.method == "band-pass":
        observer = band_pass_states(plant, treated, settings.observer_bandwidth_hz)
        regulators = design_regulators(plant, observer, controls)
        return observer, behind_band_pass(plant, observer, regulators, controls)
    if settings.method == "position feedback":
        observer = position_states(plant, treated)
        return observer, without_holding(design_regulators(plant, observer, controls))
    observer = velocity_states(plant, treated)
    regulators = design_regulators(plant, observer, controls)
    return observer, with_one_gain(plant, observer, regulators, controls)


def _judged(
    plant: Plant, observer: Observer, regulators: Regulators, terms: LoopTerms
) -> Iterator[JudgedStates]:
    for name, states in states_to_judge(regulators):
        closely = states == regulators.state
        yield judge_states(plant, observer, regulators, terms, name, states, closely=closely)


def _findings(loop: ClosedLoop, controls: tuple[ModeControl, ...]) -> tuple[str, ...]:
    plant, regulators, authority = loop.plant, loop.regulators, loop.authority
    return (
        *instabilities(plant, loop.judged),
        *thin_margins(plant, loop.judged),
        *missed_decays(plant, controls, loop.all_damped),
        *longer_decays(plant, controls),
        *straight_decays(plant, regulators, controls, authority),
        *aliases(plant),
        *pickup_products_on_modes(plant, loop.observer, regulators),
        *driver_products_on_modes(plant, regulators),
        *lag_at_limit(plant, regulators, loop.judged),
        *lag_when_held(plant, regulators, authority),
        *beyond_authority(plant, regulators, authority),
        *too_much_together(plant, regulators, authority),
    )


def _observed_modes(
    plant: Plant, controls: tuple[ModeControl, ...], modelled: int
) -> NDArray[np.int64]:
    treated = [control.number - 1 for control in controls]
    missing = [index + 1 for index in treated if index >= plant.mode_count]
    if missing:
        raise LoopError(
            f"loop.modes: expected numbers up to {plant.mode_count}, the modes below "
            f"{plant.freq_hz.max():.0f} Hz, got {', '.join(map(str, missing))}.",
            hint="Raise loop.highest_mode or leave the mode out.",
        )
    _check_below_half_rate(plant, treated)
    # A mode that the pickup does not hear, such as one that moves in the sheet's plane, cannot be
    # observed and need not be.
    heard = np.abs(plant.pickup_gain * plant.scale_per_sqrt_kg)
    others = [
        i
        for i in range(min(modelled, plant.mode_count))
        if i not in treated and heard[i] > _HEARD_SHARE * heard.max()
    ]
    return np.array([*treated, *others], dtype=np.int64)


def _check_below_half_rate(plant: Plant, treated: list[int]) -> None:
    above = [i for i in treated if plant.is_aliased[i]]
    if above:
        named = ", ".join(f"mode {i + 1} at {plant.freq_hz[i]:.0f} Hz" for i in above)
        raise LoopError(
            f"loop.modes: expected modes below half the sampling rate ({plant.rate_hz / 2:.0f} "
            f"Hz), got {named}.",
            hint="Raise electronics.converter_rate or leave the mode out.",
        )
