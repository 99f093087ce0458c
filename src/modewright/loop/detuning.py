"""What the loop makes of a mode that lies beside where its model has it.

The observer keeps its tuning while one mode of the plant is moved. Damped, the mode has a pole that
is found as any other. Held, it swings steadily where the loop, the regulator replaced by the real
gain that it has in that swing, has a pole upon the unit circle (describing function: A. Gelb and
W. E. Vander Velde, Multiple-Input Describing Functions and Nonlinear System Design, 1968, ch. 3,
from memory). The regulator keeps the level that the observer believes in; what the mode really does
follows from the ratio of both at that frequency.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.decay import DECAY_60_DB
from modewright.errors import LoopError
from modewright.loop.level_loop import level_loop
from modewright.loop.poles import follow_poles, open_tracks, settle_poles
from modewright.loop.transfer import loop_terms

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.loop.plant import Plant
    from modewright.loop.poles import PoleTracks
    from modewright.loop.transfer import LoopTerms

__all__ = ["DETUNINGS_CENTS", "Detuning", "detune_mode", "detuning_of_modes"]

DETUNINGS_CENTS = (-5.0, -1.0, 1.0, 5.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Detuning:
    """One treated mode beside its model; the arrays have shape (detunings,).

    Parameters
    ----------
    mode : int
        Index in the plant.
    detuning_cents : float array
        By how much the mode lies above its model. [cents]
    held_level_db : float array
        Level of the mode, held, over the wanted one. [dB]
    held_pull_cents : float array
        Pitch of the mode, held, over its own free pitch: minus the detuning where the loop pulls it
        all the way to the model. [cents]
    damped_t60_s : float array
        T60 of the mode, damped; negative where it grows instead. [s]
    damped_pull_cents : float array
        Pitch of the mode, damped, over its own free pitch. [cents]
    faults : tuple of str
        What could not be told, with mode and detuning; the numbers are then not numbers.
    """

    mode: int
    detuning_cents: NDArray[np.float64]
    held_level_db: NDArray[np.float64]
    held_pull_cents: NDArray[np.float64]
    damped_t60_s: NDArray[np.float64]
    damped_pull_cents: NDArray[np.float64]
    faults: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name in (item.name for item in fields(self) if item.name not in ("mode", "faults")):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def detuning_of_modes(
    loop: ClosedLoop, cents: tuple[float, ...] = DETUNINGS_CENTS
) -> tuple[Detuning, ...]:
    """Find what a model that is off does to every treated mode, one at a time.

    Parameters
    ----------
    loop : ClosedLoop
    cents : tuple of float
        By how much each mode is moved from where the observer has it. [cents]

    Returns
    -------
    tuple of Detuning
        In the order of the loop's treated modes. The other modes do what the design states.
    """
    return tuple(_detuning(loop, row, cents) for row in range(len(loop.regulators.modes)))


def detune_mode(plant: Plant, mode: int, cents: float) -> Plant:
    """The plant with the frequency of one mode moved, its Q and its gains kept.

    Parameters
    ----------
    plant : Plant
    mode : int
        Index of the mode.
    cents : float
        Upwards. [cents]

    Returns
    -------
    Plant
    """
    ratio = 2 ** (cents / 1200)
    freq_hz, rotation = plant.freq_hz.copy(), plant.rotation.copy()
    freq_hz[mode] *= ratio
    # The true pole and not its alias is moved; its real part goes along, for Q is kept.
    damped_hz = freq_hz[mode] / ratio * np.sqrt(1 - plant.damping_ratio[mode] ** 2)
    rate = plant.decay_rate_per_s[mode]
    moved = (2j * np.pi * damped_hz - rate) * (ratio - 1) / plant.rate_hz
    rotation[mode] *= np.exp(moved)
    return dataclasses.replace(plant, freq_hz=freq_hz, rotation=rotation)


def _detuning(loop: ClosedLoop, row: int, cents: tuple[float, ...]) -> Detuning:
    regulators = loop.regulators
    mode = int(regulators.modes[row])
    states = tuple("damped" if i == row else s for i, s in enumerate(regulators.state))
    gain = regulators.linear_gain(states)
    faults: list[str] = []
    held, damped = np.full((2, len(cents)), np.nan), np.full((2, len(cents)), np.nan)
    try:
        tracks = follow_poles(
            loop.plant, loop.observer, regulators, gain, open_tracks(loop.plant, loop.observer)
        )
    except LoopError as lost:
        tracks = None
        faults.append(str(lost))
    for index, moved_cents in enumerate(cents):
        plant = detune_mode(loop.plant, mode, moved_cents)
        who = f"mode {mode + 1} ({plant.labels[mode]}), {moved_cents:+g} cents beside its model"
        swing = _held(loop, plant, row)
        if swing is None:
            faults.append(
                f"Not held: {who}, has no steady swing. A lower loop.observer_bandwidth or a "
                "longer decay of the mode helps."
            )
        else:
            held[:, index] = swing
        if tracks is None:
            continue
        try:
            damped[:, index] = _damped(loop, plant, mode, gain, tracks)
        except LoopError as lost:
            faults.append(f"Not followed, damped: {who}. {lost}")
    return Detuning(
        mode=mode,
        detuning_cents=np.array(cents),
        held_level_db=held[0],
        held_pull_cents=held[1],
        damped_t60_s=damped[0],
        damped_pull_cents=damped[1],
        faults=tuple(faults),
    )


def _damped(
    loop: ClosedLoop, plant: Plant, mode: int, gain: NDArray[np.float64], tracks: PoleTracks
) -> tuple[float, float]:
    """T60 and pull of the moved mode; `tracks` are the poles before it was moved."""
    moved = plant.rotation[mode] - loop.plant.rotation[mode]
    start, now = tracks.start.copy(), tracks.now.copy()
    start[mode] += moved
    now[mode] += moved
    near = dataclasses.replace(tracks, start=start, now=now)
    found = settle_poles(plant, loop.observer, loop.regulators, gain, near)
    if found is None:
        opened = open_tracks(plant, loop.observer)
        found = follow_poles(plant, loop.observer, loop.regulators, gain, opened)
    pole = found.now[mode]
    t60_s = DECAY_60_DB / (-np.log(np.abs(pole)) * plant.rate_hz)
    return float(t60_s), _cents(float(np.angle(pole)), plant, mode)


def _held(loop: ClosedLoop, plant: Plant, row: int) -> tuple[float, float] | None:
    """Level over the wanted one in dB, and pull of the moved mode, when held; None if it is not."""
    regulators, mode = loop.regulators, int(loop.regulators.modes[row])
    around = level_loop(plant, loop.observer, regulators, regulators.state, row)
    swing = around.swing()
    believed = None if swing is None else _believed_level(loop, row, swing.gain)
    if swing is None or believed is None:
        return None
    terms = loop_terms(plant, loop.observer, regulators, np.array([swing.freq_hz]))
    really = believed * _motion_over_belief(loop, plant, row, terms)
    level_db = 20 * np.log10(really / regulators.level_m[row])
    return float(level_db), _cents(2 * np.pi * swing.freq_hz / plant.rate_hz, plant, mode)


def _believed_level(loop: ClosedLoop, row: int, gain: float) -> float | None:
    """Level at which the regulator's push, over the level, is the gain of the steady swing.

    A negative gain brakes a mode that what surrounds it would let grow: beyond the command limit
    there is no level at which it stays (None). A positive one feeds it, at the limit as far as
    that goes. [m]
    """
    regulators = loop.regulators
    level, limit = regulators.level_m[row], regulators.integral_limit[row]
    hold, sustain = regulators.hold_gain[row], regulators.sustain_gain[row]
    most = float(regulators.command_limit[row])
    integral = np.clip((gain - sustain) * level, -limit, limit)
    believed = float(((hold + sustain) * level + integral) / (hold + gain))
    if gain > 0:
        return min(believed, most / gain)
    return believed if believed > 0 and -gain * believed < most else None


def _motion_over_belief(loop: ClosedLoop, plant: Plant, row: int, terms: LoopTerms) -> float:
    """Ratio of a mode's motion to what the observer predicts of it, in a steady swing."""
    observer, mode = loop.observer, int(loop.regulators.modes[row])
    z = np.exp(2j * np.pi * terms.freq_hz / plant.rate_hz)
    motion = plant.drive_gain[mode] * plant.output_sections.at(z) * z ** (-plant.delay_samples)
    motion = motion / (z - plant.rotation[mode])
    innovation = (terms.plant - terms.delayed_command) / terms.innovation
    belief = observer.predicted_correction[row] * innovation + observer.drive_gain[row]
    belief = belief / (z - observer.rotation[row])
    return float(np.abs(motion / belief)[0])


def _cents(turn_rad: float, plant: Plant, mode: int) -> float:
    """Pitch of a motion over that of the mode left alone. [cents]"""
    return float(1200 * np.log2(turn_rad / np.angle(plant.rotation[mode])))
