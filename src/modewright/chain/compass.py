"""Tune every note of an instrument, each from what its lower neighbour became."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from modewright.chain.tune import tune_design
from modewright.design.free_dimensions import dimensions_of, position_of
from modewright.errors import ModewrightError
from modewright.pitch import cents_between, nearest_note, ratio_of_cents
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

__all__ = ["TunedCompass", "TunedNote", "retune_compass", "tune_compass"]

Numbers: TypeAlias = "Mapping[ModeAddress, ModeAddress]"
"""What a mode that the plan names is called in some design."""

# Share of the ranges by which further starts lie beside the first; a near miss, in tolerances.
_BESIDE, _NEAR = 0.01, 4.0
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
        How far the tuned mode lies above its pitch, with what the base was said to do. [cents]
    place : int
        Position of the tuned mode among its modes.
    even_places : tuple of int
        Positions of the even modes.
    even_cents : tuple of float
        Intervals of the even modes above the tuned one. [cents]
    numbers : mapping from int or str to int
        Number of every mode that the plan names.
    design : Design
        With its dimensions, under its own name.
    missed : tuple of str
        Targets that it does not meet.
    in_the_way : tuple of str
        Ends of ranges and limits that keep it from them.
    """

    note: ScaleNote
    body: TunedBody
    is_met: bool
    miss_cents: float
    place: int
    even_places: tuple[int, ...]
    even_cents: tuple[float, ...]
    numbers: Numbers
    design: Design
    missed: tuple[str, ...]
    in_the_way: tuple[str, ...]


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
    """Tune every note on a base that stands still, from the lowest up.

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
    numbers: Numbers = {name: name for name in _names(plan)}
    found: list[TunedNote] = []
    dimensions: tuple[Dimension, ...] = ()
    design = family
    for note in plan.notes:
        task = _NoteTask(
            plan=plan,
            note=note,
            numbers=numbers,
            even_cents=found[0].even_cents if found else (),
            base_cents=0.0,
        )
        tell = None if progress is None else _told(progress, note.name)
        tuned, dimensions = _tuned_note(task, design, folder, _ahead(found, note), tell)
        found.append(tuned)
        design, numbers = tuned.body.design, tuned.numbers
    return TunedCompass(notes=tuple(found), dimensions=dimensions)


def retune_compass(
    plan: InstrumentPlan,
    compass: TunedCompass,
    base_cents: NDArray[np.float64],
    folder: Path,
    *,
    progress: Callable[[str], None] | None = None,
) -> TunedCompass:
    """Tune every note once more, so that it is right on a base that gives way.

    Parameters
    ----------
    plan : InstrumentPlan
    compass : TunedCompass
        Of that plan, tuned on a base that stands still; roughly will do.
    base_cents : float array, shape (notes,)
        How far the base moves the pitch of each note. [cents]
    folder : Path
        Folder of the family's design file.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    TunedCompass
        Whose ``miss_cents`` count what the base does.
    """
    notes: list[TunedNote] = []
    for known, cents in zip(compass.notes, base_cents.tolist(), strict=True):
        task = _NoteTask(
            plan=plan,
            note=known.note,
            numbers=known.numbers,
            even_cents=compass.notes[0].even_cents,
            base_cents=cents,
        )
        tell = None if progress is None else _told(progress, f"{known.note.name} on its base")
        tuned, _ = _tuned_note(task, known.body.design, folder, known.body.position, tell)
        notes.append(tuned)
    return TunedCompass(notes=tuple(notes), dimensions=compass.dimensions)


@dataclass(frozen=True, slots=True, kw_only=True)
class _NoteTask:
    """What is wanted of one note.

    Parameters
    ----------
    plan : InstrumentPlan
    note : ScaleNote
    numbers : mapping from int or str to int or str
        What the named modes are called in the design that the search begins with.
    even_cents : tuple of float
        Intervals to keep; empty if nothing is asked. [cents]
    base_cents : float
        What the base adds to the pitch. [cents]
    """

    plan: InstrumentPlan
    note: ScaleNote
    numbers: Numbers
    even_cents: tuple[float, ...]
    base_cents: float


def _tuned_note(
    task: _NoteTask,
    design: Design,
    folder: Path,
    start: NDArray[np.float64] | None,
    progress: Callable[[str], None] | None,
) -> tuple[TunedNote, tuple[Dimension, ...]]:
    """Tune one note from a design near it, or from a start ahead of that."""
    settings = _settings(task)
    if start is None:
        entry = position_of(design, dimensions_of(design, settings))
        start = np.clip(entry, 0.0, 1.0)
    tuning = _tuned(replace(design, tune=settings), folder, start, progress)
    body = tuning.solutions[0].body if tuning.solutions else tuning.nearest
    if body is None:
        raise ModewrightError(
            f"note {task.note.name}: expected a body near the one before, got none that is sound.",
            hint="Widen the ranges of [[tune.free]], or change [family].",
        )
    return _note(task, tuning, body), tuning.task.dimensions


def _told(progress: Callable[[str], None], name: str) -> Callable[[str], None]:
    return lambda text: progress(f"note {name}: {text}")


def _tuned(
    design: Design,
    folder: Path,
    start: NDArray[np.float64],
    progress: Callable[[str], None] | None,
) -> Tuning:
    """Tune from a guess, then from beside it; if all that fails, from a spread of starts.

    Frequencies jump a little where the mesh changes, so that a start beside the first may do.
    """
    beside = [np.clip(start + step, 0.0, 1.0) for step in (0.0, _BESIDE, -_BESIDE)]
    tuning = tune_design(design, folder, starts=beside, progress=progress)
    if tuning.solutions or tuning.nearest is None or _is_near(tuning.nearest):
        return tuning
    return tune_design(design, folder, progress=progress)


def _is_near(body: TunedBody) -> bool:
    """Whether a body misses its targets by so little that other starts would do no better."""
    return body.state.worst <= _NEAR


def _names(plan: InstrumentPlan) -> tuple[ModeAddress, ...]:
    """Every mode that targets or even overtones name."""
    named = [mode for target in plan.tune.targets for mode in target.modes]
    return tuple(dict.fromkeys([*named, *plan.compass.even_modes]))


def _pitched(plan: InstrumentPlan) -> ModeAddress:
    """Mode that takes its pitch from the scale; the plan has been checked for it."""
    return next(t.mode for t in plan.tune.targets if isinstance(t, Pitch) and _is_of_scale(t))


def _is_of_scale(target: Target) -> bool:
    return isinstance(target, Pitch) and not target.note and target.freq_hz is None


def _settings(task: _NoteTask) -> TuneSettings:
    """Targets of one note, its modes called by their numbers in the design it starts from."""
    plan, numbers = task.plan, task.numbers
    freq_hz = task.note.freq_hz * ratio_of_cents(-task.base_cents)
    targets: list[Target] = []
    for target in plan.tune.targets:
        is_of_scale = isinstance(target, Pitch) and _is_of_scale(target)
        pitched = replace(target, freq_hz=freq_hz) if is_of_scale else target
        targets.append(_renumbered(pitched, numbers))
    above = numbers[_pitched(plan)]
    for place, mode in enumerate(plan.compass.even_modes):
        # On the first note nothing is asked: the mode is only to be followed.
        cents, within = (
            (task.even_cents[place], plan.compass.even_within_cents)
            if task.even_cents
            else (0.0, _ANY_CENTS)
        )
        targets.append(_interval(numbers[mode], above, cents, within))
    return replace(plan.tune, targets=tuple(targets), solutions=1)


def _interval(mode: ModeAddress, above: ModeAddress, cents: float, within_cents: float) -> Interval:
    if cents < 0:
        mode, above, cents = above, mode, -cents
    return Interval(
        mode=mode, above=above, interval=f"{cents:.6f} cents", within_cents=within_cents
    )


def _renumbered(target: Target, numbers: Numbers) -> Target:
    match target:
        case Pitch() | Decay():
            return replace(target, mode=numbers[target.mode])
        case Interval():
            return replace(target, mode=numbers[target.mode], above=numbers[target.above])
        case Partials():
            return replace(target, modes=tuple(numbers[mode] for mode in target.modes))
        case KeepAway():
            return replace(target, wanted=tuple(numbers[mode] for mode in target.wanted))


def _ahead(found: list[TunedNote], note: ScaleNote) -> NDArray[np.float64] | None:
    """Where a straight line in pitch through the last two notes leads; None before there are."""
    if len(found) < 2:
        return None
    before, last = found[-2:]
    share = cents_between(note.freq_hz, last.note.freq_hz) / cents_between(
        last.note.freq_hz, before.note.freq_hz
    )
    ahead = last.body.position + share * (last.body.position - before.body.position)
    return np.clip(ahead, 0.0, 1.0)


def _note(task: _NoteTask, tuning: Tuning, body: TunedBody) -> TunedNote:
    plan, note = task.plan, task.note
    numbers = {name: body.places[known] + 1 for name, known in task.numbers.items()}
    place = numbers[_pitched(plan)] - 1
    freq_hz, verdict = body.sample.freq_hz, tuning.verdict
    heading = replace(
        body.design.design,
        name=f"{plan.instrument.name} {note.name}",
        note=_usual_note(note, plan),
        a4_hz=plan.instrument.a4_hz,
    )
    return TunedNote(
        note=note,
        body=body,
        is_met=bool(tuning.solutions),
        miss_cents=cents_between(float(freq_hz[place]), note.freq_hz) + task.base_cents,
        place=place,
        even_places=tuple(numbers[mode] - 1 for mode in plan.compass.even_modes),
        even_cents=tuple(
            cents_between(float(freq_hz[numbers[mode] - 1]), float(freq_hz[place]))
            for mode in plan.compass.even_modes
        ),
        numbers=numbers,
        design=replace(body.design, design=heading, tune=None),
        missed=() if verdict is None else tuple(demand.what for demand in verdict.missed),
        in_the_way=() if verdict is None else tuple(found.what for found in verdict.obstacles),
    )


def _usual_note(note: ScaleNote, plan: InstrumentPlan) -> str:
    """Equal-tempered name of a note that has one; empty for any other."""
    usual = nearest_note(note.freq_hz, plan.instrument.a4_hz)
    return usual.name if abs(usual.cents) < _SAME_CENTS else ""
