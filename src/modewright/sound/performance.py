"""Play a score on a loop and make a sound of the pickup's voltage that cannot be too loud."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from modewright.checks import frozen_array
from modewright.errors import LoopError
from modewright.loop.findings import growth_sentences
from modewright.loop.judge import judged_alone
from modewright.sound.engine import Engine
from modewright.sound.inputs import InputSignals
from modewright.sound.playing import play
from modewright.sound.program import force_gain_m_per_n, voice_program
from modewright.sound.reached_levels import reached_levels
from modewright.sound.scaling import scaled_sound
from modewright.sound.timeline import STATE_NAMES, build_timeline

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.modes.basis import ModeShapes
    from modewright.sound.playing import PlayedLevels
    from modewright.sound.reached_levels import ReachedLevel
    from modewright.sound.scaling import Sound
    from modewright.sound.score import Score
    from modewright.sound.settings import ListeningSettings, StrikeSettings
    from modewright.sound.timeline import Timeline

__all__ = ["Outcome", "Performance", "make_sound", "perform", "perform_to"]

BLOCK = 32


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """How a performance of one voice went.

    Parameters
    ----------
    rate_hz : float
        Sampling rate. [Hz]
    limited_share : float
        Share of the samples at which the command, or the push for one mode, was limited.
    clipped_share : float
        Share of the samples at which the converter clipped.
    contact_share : float
        Share of the time at which the treated modes together may make the sheet touch a plate or
        pole (their touching shares add up to one). Contact is not simulated.
    held : tuple of ReachedLevel
        What each mode that the score holds was to reach, and reached.
    """

    rate_hz: float
    limited_share: float
    clipped_share: float
    contact_share: float
    held: tuple[ReachedLevel, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Performance(Outcome):
    """What the core gave for one voice.

    Parameters
    ----------
    voltage_v : float array, shape (samples,)
        At the converter. [V]
    command : float array, shape (samples,)
        To the driver, after the limiter. [command unit]
    level_m : float array, shape (blocks, regulated)
        Level of each treated mode as the observer sees it. [m]
    level_time_s : float array, shape (blocks,)
        When. [s]
    """

    voltage_v: NDArray[np.float64]
    command: NDArray[np.float64]
    level_m: NDArray[np.float64]
    level_time_s: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("voltage_v", "command", "level_m", "level_time_s"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def perform(
    loop: ClosedLoop,
    shapes: ModeShapes,
    score: Score,
    strike: StrikeSettings,
    strike_point_m: tuple[float, float],
    *,
    precision: Literal["float32", "float64"] = "float32",
    noise_seed: int | None = 1,
    progress: Callable[[float], None] | None = None,
) -> Performance:
    """Play a score and keep every sample; an hour takes gigabytes, see `perform_to`.

    Parameters
    ----------
    loop : ClosedLoop
    shapes : ModeShapes
        Of the plant's modes.
    score : Score
    strike : StrikeSettings
    strike_point_m : tuple of two floats
        Where blows fall. [m]
    precision : {"float32", "float64"}
        float32 is what live playing and firmware use.
    noise_seed : int or None
        Seed of the pickup's noise; None leaves it out.
    progress : callable, optional
        Told the share that is done.

    Returns
    -------
    Performance

    Raises
    ------
    LoopError
        If the loop howls in states that the score asks for; says which, from when on, and what.
    ScoreError
        If the score asks for a mode that the loop does not treat, or is too long.
    SolveError
        If the core ran out of numbers.
    """
    voltage_v: list[NDArray[np.float64]] = []
    command: list[NDArray[np.float64]] = []

    def hear(heard_v: NDArray[np.floating], sent: NDArray[np.floating]) -> None:
        voltage_v.append(heard_v.astype(np.float64))
        command.append(sent.astype(np.float64))

    timeline = build_timeline(score, loop.regulators, loop.plant.rate_hz, BLOCK)
    engine = _engine(loop, shapes, strike_point_m, timeline, precision)
    inputs = _inputs(loop, score, strike, noise_seed)
    played = play(engine, timeline, loop.regulators, inputs, hear, progress)
    outcome = _outcome(loop, engine, timeline, played)
    return Performance(
        rate_hz=outcome.rate_hz,
        limited_share=outcome.limited_share,
        clipped_share=outcome.clipped_share,
        contact_share=outcome.contact_share,
        held=outcome.held,
        voltage_v=np.concatenate(voltage_v),
        command=np.concatenate(command),
        level_m=played.level_m.astype(np.float64),
        level_time_s=(np.arange(len(played.level_m)) + 1) * BLOCK / loop.plant.rate_hz,
    )


def perform_to(
    hear: Callable[[NDArray[np.floating]], None],
    loop: ClosedLoop,
    shapes: ModeShapes,
    score: Score,
    strike: StrikeSettings,
    strike_point_m: tuple[float, float],
    progress: Callable[[float], None] | None = None,
) -> Outcome:
    """Play a score in float32 and hand the voltage on piece by piece; all else as for `perform`.

    Parameters
    ----------
    hear : callable
        Given the voltage, shape (samples,). [V]
    loop, shapes, score, strike, strike_point_m, progress
        As for `perform`.
    """
    timeline = build_timeline(score, loop.regulators, loop.plant.rate_hz, BLOCK)
    engine = _engine(loop, shapes, strike_point_m, timeline, "float32")
    inputs = _inputs(loop, score, strike, noise_seed=1)
    played = play(
        engine, timeline, loop.regulators, inputs, lambda voltage_v, _: hear(voltage_v), progress
    )
    return _outcome(loop, engine, timeline, played)


def _engine(
    loop: ClosedLoop,
    shapes: ModeShapes,
    strike_point_m: tuple[float, float],
    timeline: Timeline,
    precision: Literal["float32", "float64"],
) -> Engine:
    """Give the core with the voice loaded, unless the loop would howl."""
    _check_states(loop, timeline)
    engine = Engine(precision, block=BLOCK, longest_delay=loop.plant.delay_samples)
    engine.load(0, voice_program(loop, force_gain_m_per_n(loop.plant, shapes, strike_point_m)))
    return engine


def _inputs(
    loop: ClosedLoop, score: Score, strike: StrikeSettings, noise_seed: int | None
) -> InputSignals:
    rate_hz = loop.plant.rate_hz
    return InputSignals(
        score,
        strike,
        rate_hz,
        command_limit=loop.plant.command_limit,
        noise_v=float(loop.plant.noise_v_per_rthz * np.sqrt(rate_hz / 2)),
        noise_seed=noise_seed,
    )


def _outcome(loop: ClosedLoop, engine: Engine, timeline: Timeline, played: PlayedLevels) -> Outcome:
    samples = len(timeline.state) * timeline.block
    return Outcome(
        rate_hz=loop.plant.rate_hz,
        limited_share=float(engine.limited_samples[0]) / samples,
        clipped_share=float(engine.clipped_samples[0]) / samples,
        contact_share=_contact_share(loop, played.level_m),
        held=reached_levels(loop, played.target_m, timeline.state, played.level_m),
    )


def _check_states(loop: ClosedLoop, timeline: Timeline) -> None:
    """Refuse a score that asks for states in which the loop howls, be it at its very end."""
    changed = np.any(timeline.state[1:] != timeline.state[:-1], axis=1)
    begins = np.concatenate([[0], 1 + np.flatnonzero(changed)])
    every, first = np.unique(timeline.state[begins], axis=0, return_index=True)
    order = np.argsort(first)
    states = tuple(tuple(STATE_NAMES[int(code)] for code in every[index]) for index in order)
    judged = judged_alone(loop.plant, loop.observer, loop.regulators, states)
    for case, block in zip(judged, begins[first[order]], strict=True):
        if not case.is_stable:
            at_s = block * timeline.block / loop.plant.rate_hz
            raise LoopError(
                f"render: expected states in which the loop is stable, got a howl from {at_s:.2f} "
                "s on: " + " ".join(growth_sentences(loop.plant, case)),
                hint="Ask for other states in the score, or see `modewright loop`; a score that "
                "leaves every mode free can always be rendered.",
            )


def _contact_share(loop: ClosedLoop, level_m: NDArray[np.floating]) -> float:
    touch = loop.plant.touch_level_m[loop.regulators.modes]
    share = np.asarray((level_m / touch).sum(axis=1), dtype=np.float64)
    return float(np.mean(share > 1))


def make_sound(performance: Performance, settings: ListeningSettings, full_scale_v: float) -> Sound:
    """Scale a performance for a file.

    Parameters
    ----------
    performance : Performance
    settings : ListeningSettings
    full_scale_v : float
        Used where the settings give none. [V]

    Returns
    -------
    Sound
        Where the peak would pass the ceiling, the whole is lowered and the voltage that stands at
        full scale is raised accordingly, so that the file stays calibrated.
    """
    wanted_v = settings.full_scale_v if settings.full_scale_v is not None else full_scale_v
    return scaled_sound(
        performance.voltage_v, performance.rate_hz, wanted_v, "V", settings.ceiling_db
    )
