"""Tune every note of an instrument, each from what its lower neighbour became."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.tune import tune_design
from modewright.errors import ModewrightError
from modewright.pitch import cents_between, nearest_note
from modewright.tune.targets import Decay, Interval, KeepAway, Partials, Pitch

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.chain.tune import Tuning
    from modewright.chain.tune_terrain import TunedBody
    from modewright.design.free_dimensions import Dimension
    from modewright.design.instrument_plan import InstrumentPlan
    from modewright.design.schema import Design
    from modewright.instrument.scale import ScaleNote
    from modewright.tune.settings import TuneSettings
    from modewright.tune.targets import ModeAddress, Target

__all__ = ["TunedCompass", "TunedNote", "tune_compass"]

# A tolerance so wide that an interval asks for nothing.
_ANY_CENTS = 1e6
# A note nearer than this to a tempered one bears its name.
_SAME_CENTS = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TunedNote:
    """A note of the instrument.

    Parameters
    ----------
    note : ScaleNote
        What it should be.
    body : TunedBody
        What it became: what meets all targets, else what comes nearest.
    is_met : bool
        Whether it meets all targets.
    miss_cents : float
        How far the tuned mode lies above its pitch. [cents]
    place : int
        Position of the tuned mode among its modes.
    even_places : tuple of int
        Positions of the even modes.
    even_cents : tuple of float
        Intervals of the even modes above the tuned one. [cents]
    design : Design
        With its dimensions, under its own name.
    missed : tuple of str
        Targets that it does not meet.
    """

    note: ScaleNote
    body: TunedBody
    is_met: bool
    miss_cents: float
    place: int
    even_places: tuple[int, ...]
    even_cents: tuple[float, ...]
    design: Design
    missed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TunedCompass:
    """All notes of an instrument.

    Parameters
    ----------
    notes : tuple of TunedNote
        Rising.
    dimensions : tuple of Dimension
        What differs from note to note.
    """

    notes: tuple[TunedNote, ...]
    dimensions: tuple[Dimension, ...]


def tune_compass(
    plan: InstrumentPlan,
    family: Design,
    folder: Path,
    *,
    progress: Callable[[str], None] | None = None,
) -> TunedCompass:
    """Tune every note, from the lowest up.

    Parameters
    ----------
    plan : InstrumentPlan
    family : Design
        The design that every note is made from; its own ``[tune]`` is not used.
    folder : Path
        Folder of its file.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    TunedCompass
        Notes that cannot be tuned are there with what comes nearest.

    Raises
    ------
    ModewrightError
        If the family cannot be solved, or a name of the plan fits nothing.

    Notes
    -----
    The first note starts from the family as it is. Each further one starts where a straight line
    in pitch through the two before it leads, and keeps the names of modes by shape from neighbour
    to neighbour, so that a crossing of two modes on the way does no harm.
    """
    names = _names(plan)
    numbers: Mapping[ModeAddress, ModeAddress] = {name: name for name in names}
    found: list[TunedNote] = []
    dimensions: tuple[Dimension, ...] = ()
    design = family
    for note in plan.notes:
        tell = None if progress is None else _told(progress, note.name)
        even = found[0].even_cents if found else ()
        settings = _settings(plan, note, numbers, even)
        design = replace(design, tune=settings)
        tuning = _tuned(design, folder, _start(found, note), tell)
        dimensions = tuning.task.dimensions
        body = tuning.solutions[0].body if tuning.solutions else tuning.nearest
        if body is None:
            raise ModewrightError(
                f"note {note.name}: expected a body near the one before, got none that is sound.",
                hint="Widen the ranges of [[tune.free]], or change [family].",
            )
        counted = {name: body.places[numbers[name]] + 1 for name in names}
        found.append(_note(plan, note, tuning, body, counted))
        numbers = {**counted}
        design = body.design
    return TunedCompass(notes=tuple(found), dimensions=dimensions)


def _told(progress: Callable[[str], None], name: str) -> Callable[[str], None]:
    return lambda text: progress(f"note {name}: {text}")


def _tuned(
    design: Design,
    folder: Path,
    start: NDArray[np.float64] | None,
    progress: Callable[[str], None] | None,
) -> Tuning:
    """Tune from a guess; if that fails, from the design as it is and a spread of starts."""
    if start is not None:
        tuning = tune_design(design, folder, starts=[start], progress=progress)
        if tuning.solutions:
            return tuning
    return tune_design(design, folder, progress=progress)


def _names(plan: InstrumentPlan) -> tuple[ModeAddress, ...]:
    """Every mode that targets or even overtones name."""
    named = [mode for target in plan.tune.targets for mode in target.modes]
    return tuple(dict.fromkeys([*named, *plan.compass.even_modes]))


def _pitched(plan: InstrumentPlan) -> ModeAddress:
    """Mode that takes its pitch from the scale; the plan has been checked for it."""
    return next(t.mode for t in plan.tune.targets if isinstance(t, Pitch) and _is_of_scale(t))


def _is_of_scale(target: Target) -> bool:
    return isinstance(target, Pitch) and not target.note and target.freq_hz is None


def _settings(
    plan: InstrumentPlan,
    note: ScaleNote,
    numbers: Mapping[ModeAddress, ModeAddress],
    even_cents: tuple[float, ...],
) -> TuneSettings:
    """Targets of one note, its modes called by their numbers in the note before."""
    targets: list[Target] = []
    for target in plan.tune.targets:
        pitched = (
            replace(target, freq_hz=note.freq_hz)
            if isinstance(target, Pitch) and _is_of_scale(target)
            else target
        )
        targets.append(_renumbered(pitched, numbers))
    above = numbers[_pitched(plan)]
    for place, mode in enumerate(plan.compass.even_modes):
        # On the first note nothing is asked yet: the mode is only to be followed.
        cents, within = (
            (even_cents[place], plan.compass.even_within_cents) if even_cents else (0.0, _ANY_CENTS)
        )
        targets.append(_interval(numbers[mode], above, cents, within))
    return replace(plan.tune, targets=tuple(targets), solutions=1)


def _interval(mode: ModeAddress, above: ModeAddress, cents: float, within_cents: float) -> Interval:
    if cents < 0:
        mode, above, cents = above, mode, -cents
    return Interval(
        mode=mode, above=above, interval=f"{cents:.6f} cents", within_cents=within_cents
    )


def _renumbered(target: Target, numbers: Mapping[ModeAddress, ModeAddress]) -> Target:
    match target:
        case Pitch() | Decay():
            return replace(target, mode=numbers[target.mode])
        case Interval():
            return replace(target, mode=numbers[target.mode], above=numbers[target.above])
        case Partials():
            return replace(target, modes=tuple(numbers[mode] for mode in target.modes))
        case KeepAway():
            return replace(target, wanted=tuple(numbers[mode] for mode in target.wanted))


def _start(found: list[TunedNote], note: ScaleNote) -> NDArray[np.float64] | None:
    """Where a straight line in pitch through the last two notes leads."""
    if not found:
        return None
    last = found[-1]
    if len(found) == 1:
        return last.body.position
    before = found[-2]
    share = cents_between(note.freq_hz, last.note.freq_hz) / cents_between(
        last.note.freq_hz, before.note.freq_hz
    )
    ahead = last.body.position + share * (last.body.position - before.body.position)
    return np.clip(ahead, 0.0, 1.0)


def _note(
    plan: InstrumentPlan,
    note: ScaleNote,
    tuning: Tuning,
    body: TunedBody,
    numbers: Mapping[ModeAddress, int],
) -> TunedNote:
    place = numbers[_pitched(plan)] - 1
    freq_hz = body.sample.freq_hz
    heading = replace(body.design.design, name=f"{plan.instrument.name} {note.name}")
    heading = replace(heading, note=usual_note(note, plan), a4_hz=plan.instrument.a4_hz)
    return TunedNote(
        note=note,
        body=body,
        is_met=bool(tuning.solutions),
        miss_cents=cents_between(float(freq_hz[place]), note.freq_hz),
        place=place,
        even_places=tuple(numbers[mode] - 1 for mode in plan.compass.even_modes),
        even_cents=tuple(
            cents_between(float(freq_hz[numbers[mode] - 1]), float(freq_hz[place]))
            for mode in plan.compass.even_modes
        ),
        design=replace(body.design, design=heading, tune=None),
        missed=() if tuning.verdict is None else tuple(d.what for d in tuning.verdict.missed),
    )


def usual_note(note: ScaleNote, plan: InstrumentPlan) -> str:
    """Equal-tempered name of a note that has one; empty for any other."""
    usual = nearest_note(note.freq_hz, plan.instrument.a4_hz)
    return usual.name if abs(usual.cents) < _SAME_CENTS else ""
