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
from modewright.sound.playing import check_finite, play
from modewright.sound.program import force_gain_m_per_n, voice_program
from modewright.sound.reached_levels import reached_levels
from modewright.sound.timeline import STATE_NAMES, build_timeline

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.modes.basis import ModeShapes
    from modewright.sound.reached_levels import ReachedLevel
    from modewright.sound.score import Score
    from modewright.sound.settings import ListeningSettings, StrikeSettings
    from modewright.sound.timeline import Timeline

__all__ = ["Performance", "Sound", "make_sound", "perform", "scaled_sound"]

BLOCK = 32
_SILENCE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Performance:
    """What the core gave for one voice.

    Parameters
    ----------
    rate_hz : float
        Sampling rate. [Hz]
    voltage_v : float array, shape (samples,)
        At the converter. [V]
    command : float array, shape (samples,)
        To the driver, after the limiter. [command unit]
    level_m : float array, shape (blocks, regulated)
        Level of each treated mode as the observer sees it. [m]
    level_time_s : float array, shape (blocks,)
        When. [s]
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
    voltage_v: NDArray[np.float64]
    command: NDArray[np.float64]
    level_m: NDArray[np.float64]
    level_time_s: NDArray[np.float64]
    limited_share: float
    clipped_share: float
    contact_share: float
    held: tuple[ReachedLevel, ...] = ()

    def __post_init__(self) -> None:
        for name in ("voltage_v", "command", "level_m", "level_time_s"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sound:
    """Samples for a file.

    Parameters
    ----------
    samples : float array, shape (samples,)
        Between -1 and 1.
    rate_hz : float
        [Hz]
    full_scale : float
        What stands at 1. [`unit`]
    unit : {"V", "m"}
        Voltage of a pickup, or displacement of the reference point.
    lowered_db : float
        By how much the whole was lowered to stay below the ceiling, >= 0; already contained in
        `full_scale`. [dB]
    """

    samples: NDArray[np.float64]
    rate_hz: float
    full_scale: float
    unit: Literal["V", "m"]
    lowered_db: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "samples", frozen_array(self.samples))


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
    """Play a score.

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
    SolveError
        If the core ran out of numbers.
    """
    timeline = build_timeline(
        score, loop.regulators, strike, loop.plant.command_limit, loop.plant.rate_hz, BLOCK
    )
    _check_states(loop, timeline)
    engine = Engine(precision, block=BLOCK, longest_delay=loop.plant.delay_samples)
    gain = force_gain_m_per_n(loop.plant, shapes, strike_point_m)
    engine.load(0, voice_program(loop, gain))
    noise = _pickup_noise(loop, len(timeline.force_n), noise_seed)
    played = play(engine, timeline, loop.regulators, noise, progress)
    check_finite(engine)
    samples = len(timeline.force_n)
    return Performance(
        rate_hz=loop.plant.rate_hz,
        voltage_v=played.voltage_v,
        command=played.command,
        level_m=played.level_m,
        level_time_s=(np.arange(len(played.level_m)) + 1) * BLOCK / loop.plant.rate_hz,
        limited_share=float(engine.limited_samples[0]) / samples,
        clipped_share=float(engine.clipped_samples[0]) / samples,
        contact_share=_contact_share(loop, played.level_m),
        held=reached_levels(loop, played.target_m, timeline.state, played.level_m),
    )


def _check_states(loop: ClosedLoop, timeline: Timeline) -> None:
    """Refuse a score that asks for states in which the loop howls, be it at its very end."""
    every, first = np.unique(timeline.state, axis=0, return_index=True)
    order = np.argsort(first)
    states = tuple(tuple(STATE_NAMES[int(code)] for code in every[index]) for index in order)
    judged = judged_alone(loop.plant, loop.observer, loop.regulators, states)
    for case, block in zip(judged, first[order], strict=True):
        if not case.is_stable:
            at_s = block * timeline.block / loop.plant.rate_hz
            raise LoopError(
                f"render: expected states in which the loop is stable, got a howl from {at_s:.2f} "
                "s on: " + " ".join(growth_sentences(loop.plant, case)),
                hint="Ask for other states in the score, or see `modewright loop`; a score that "
                "leaves every mode free can always be rendered.",
            )


def _contact_share(loop: ClosedLoop, level_m: NDArray[np.float64]) -> float:
    touch = loop.plant.touch_level_m[loop.regulators.modes]
    share = np.asarray((level_m / touch).sum(axis=1), dtype=np.float64)
    return float(np.mean(share > 1))


def _pickup_noise(loop: ClosedLoop, samples: int, seed: int | None) -> NDArray[np.float64]:
    if seed is None:
        return np.zeros(samples)
    sigma_v = loop.plant.noise_v_per_rthz * np.sqrt(loop.plant.rate_hz / 2)
    return sigma_v * np.random.default_rng(seed).standard_normal(samples)


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


def scaled_sound(
    output: NDArray[np.float64],
    rate_hz: float,
    full_scale: float | None,
    unit: Literal["V", "m"],
    ceiling_db: float,
) -> Sound:
    """Scale a signal for a file.

    Parameters
    ----------
    output : float array, shape (samples,)
        [`unit`]
    rate_hz : float
        Sampling rate. [Hz]
    full_scale : float or None
        What should stand at 1; None lets the peak stand at the ceiling. [`unit`]
    unit : {"V", "m"}
    ceiling_db : float
        Highest level allowed, relative to full scale. [dB]

    Returns
    -------
    Sound
    """
    least = float(np.abs(output).max(initial=0.0)) / 10 ** (ceiling_db / 20)
    wanted = max(least, _SILENCE) if full_scale is None else full_scale
    used = max(wanted, least)
    return Sound(
        samples=output / used,
        rate_hz=rate_hz,
        full_scale=used,
        unit=unit,
        lowered_db=float(20 * np.log10(used / wanted)),
    )
