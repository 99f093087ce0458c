"""Inverse design: from what a maker wants of the modes to dimensions that give it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.tune_body import sample_body
from modewright.chain.tune_task import TuneTask
from modewright.chain.tune_terrain import BodyLandscape, BodyTerrain
from modewright.chain.tune_verdict import Verdict, judge
from modewright.design.free_dimensions import dimensions_of, position_of
from modewright.errors import DesignError, ModeProblemsError, Problem
from modewright.modes.address import ModeAddressError, mode_number
from modewright.pitch import ratio_of_cents
from modewright.tune.demands import voiced_modes
from modewright.tune.search import search, spread_starts
from modewright.tune.targets import Decay, Interval, KeepAway, Partials, Pitch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.chain.tune_body import BodySample
    from modewright.chain.tune_terrain import TunedBody
    from modewright.design.schema import Design
    from modewright.tune.search import Attempt
    from modewright.tune.settings import TuneSettings
    from modewright.tune.targets import ModeAddress

__all__ = ["TunedSolution", "Tuning", "standing_body", "tune_design"]

_MOST_MODES, _ENOUGH_FOR_NAMES = 64, 20
_MORE_MODES = 8
_SPARE_CENTS = 100.0
# Share by which slopes that are the same differ by round-off and by the step they are taken with.
_SAME_SLOPES = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TunedSolution:
    """A design that meets every target.

    Parameters
    ----------
    body : TunedBody
    start : int
        Number of the start it was found from, 0 being the design as it was.
    change : float
        How far the free dimensions moved, root mean square in shares of their ranges.
    room_cents : float
        Smallest distance to any limit; infinite if there is none. [cents]
    """

    body: TunedBody
    start: int
    change: float
    room_cents: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tuning:
    """What a search found.

    Parameters
    ----------
    task : TuneTask
        With as many modes as the targets turned out to need.
    before : TunedBody
        The design as it was, to the wanted accuracy.
    solutions : tuple of TunedSolution
        Best first: those that change the design least.
    nearest : TunedBody or None
        If there is no solution: the design that comes nearest, to the wanted accuracy unless the
        search was interrupted.
    verdict : Verdict or None
        If there is no solution: what stands against it.
    attempts : int
        How many starts were tried.
    is_complete : bool
        Whether the search came to its end; an interrupted one goes on where it was when repeated.
    """

    task: TuneTask
    before: TunedBody
    solutions: tuple[TunedSolution, ...]
    nearest: TunedBody | None
    verdict: Verdict | None
    attempts: int
    is_complete: bool


def tune_design(
    design: Design,
    folder: Path,
    *,
    starts: Sequence[NDArray[np.float64]] | None = None,
    progress: Callable[[str], None] | None = None,
) -> Tuning:
    """Look for values of the free dimensions that meet the targets.

    Every body that is solved is kept in the cache, so that a search that was stopped goes on where
    it was.

    Parameters
    ----------
    design : Design
        With a section ``[tune]``.
    folder : Path
        Folder of the design file.
    starts : sequence of float arrays, shape (dimensions,), optional
        Positions in the ranges of the free dimensions, 0 to 1, to start from; the design as it is
        and a spread of others if left out.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Tuning

    Raises
    ------
    DesignError
        If there is no such section, or it names what the design does not have.
    ModewrightError
        If the design as it is cannot be solved.
    """
    tell: Callable[[str], None] = progress if progress is not None else _silent
    task, author = standing_body(design, folder, progress=progress)
    settings = task.settings
    entry = np.clip(author.position, 0.0, 1.0)
    if starts is None:
        others = 0 if _scales_alike(author) else settings.starts
        starts = [entry, *spread_starts(others, len(entry), settings.seed)]
    attempts: list[Attempt[TunedBody]] = []
    known = starts

    def tell_start(text: str) -> None:
        number = min(len(attempts) + 1, len(known))
        tell(f"start {number} of {len(known)}: {text}")

    terrain = BodyTerrain(task=replace(task, progress=tell_start), author=author)
    is_complete = True
    try:
        for attempt in search(terrain, starts, wanted=settings.solutions):
            attempts.append(attempt)
            tell_start(f"{sum(a.is_answer for a in attempts)} solutions so far")
    except KeyboardInterrupt:
        is_complete = False
    return _tuning(task, author, attempts, is_complete=is_complete)


def standing_body(
    design: Design, folder: Path, *, progress: Callable[[str], None] | None = None
) -> tuple[TuneTask, TunedBody]:
    """Hold a design as it is against its targets; nothing is searched for.

    Parameters
    ----------
    design : Design
        With a section ``[tune]``.
    folder : Path
        Folder of the design file.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    task : TuneTask
        With as many modes as the targets turned out to need.
    body : TunedBody
        To the accuracy of the targets.

    Raises
    ------
    DesignError
        If there is no such section, or it names what the design does not have.
    ModewrightError
        If the design cannot be solved.
    """
    settings = design.tune
    if settings is None:
        raise _no_section()
    task = TuneTask(
        design=design,
        folder=folder,
        settings=settings,
        dimensions=dimensions_of(design, settings),
        progress=progress if progress is not None else _silent,
    )
    return _author(task)


def _scales_alike(body: TunedBody) -> bool:
    """Whether a single number raises all modes alike, as a modulus does: one descent tells all.

    There is one value at most for a pitch, then, and intervals stay as they are.
    """
    slopes = body.sample.slopes.freq_cents
    least = float(np.abs(slopes).min())
    return slopes.shape[1] == 1 and float(np.ptp(slopes)) < _SAME_SLOPES * least


def _silent(_: str) -> None:
    """Progress that nobody asked for."""


def _no_section() -> DesignError:
    return DesignError(
        [
            Problem(
                what="tune",
                expected="a section that says what may change and what is wanted",
                got="none",
                hint="Add one: [[tune.free]] with path, lowest and highest for each free "
                "dimension, and [[tune.targets]] with kind, mode and note for each target.",
            )
        ]
    )


def _author(task: TuneTask) -> tuple[TuneTask, TunedBody]:
    """The design as it is, and the task with as many modes as its targets need."""
    position = position_of(task.design, task.dimensions)
    while True:
        landscape = BodyLandscape(task=task, accuracy=task.settings.accuracy)
        sample = sample_body(task, position, task.settings.accuracy)
        count = len(sample.labels)
        places, problems = _places(task.settings, sample)
        problems += _strangers(task.settings, sample.labels, places)
        reach_hz = 0.0 if problems else _reach_hz(task.settings, sample, places)
        is_enough = not problems and sample.freq_hz[-1] >= reach_hz
        if problems and count >= _ENOUGH_FOR_NAMES:
            raise ModeProblemsError(problems)
        if is_enough or count >= _MOST_MODES:
            return task, landscape.body(position, sample, places)
        more = min(count + _MORE_MODES, _MOST_MODES)
        task = replace(task, settings=replace(task.settings, modes=more))


def _places(
    settings: TuneSettings, sample: BodySample
) -> tuple[dict[ModeAddress, int], list[Problem]]:
    """Place of every mode that targets name, and the names that fit none."""
    places: dict[ModeAddress, int] = {}
    problems: list[Problem] = []
    for key, name in _named(settings):
        try:
            places[name] = mode_number(name, sample.labels) - 1
        except ModeAddressError as error:
            problems.append(
                Problem(what=key, expected=error.expected, got=_shown(name), hint=error.hint)
            )
    return places, problems


def _strangers(
    settings: TuneSettings, labels: Sequence[str], places: dict[ModeAddress, int]
) -> Iterator[Problem]:
    """Beginnings of labels with which no label begins of a mode that might keep away."""
    taken = {places.get(mode) for mode in voiced_modes(settings.targets)}
    others = [label for place, label in enumerate(labels) if place not in taken]
    for number, target in enumerate(settings.targets, 1):
        words = target.unwanted if isinstance(target, KeepAway) else ()
        for place, word in enumerate(words, 1):
            if not any(label.startswith(word) for label in others):
                yield Problem(
                    what=f"tune.targets[{number}].unwanted[{place}]",
                    expected="the beginning of a label that no other target names: "
                    + ", ".join(others),
                    got=f'"{word}"',
                    hint="Correct it, or leave it out if the body has no such mode so low.",
                )


def _shown(name: ModeAddress) -> str:
    return f'"{name}"' if isinstance(name, str) else str(name)


def _named(settings: TuneSettings) -> Iterator[tuple[str, ModeAddress]]:
    """Key of the file and name of every mode."""
    for number, target in enumerate(settings.targets, 1):
        where = f"tune.targets[{number}]"
        match target:
            case Interval():
                yield f"{where}.mode", target.mode
                yield f"{where}.above", target.above
            case Partials() | KeepAway():
                key = "modes" if isinstance(target, Partials) else "wanted"
                yield from ((f"{where}.{key}[{i}]", m) for i, m in enumerate(target.modes, 1))
            case Pitch() | Decay():
                yield f"{where}.mode", target.mode


def _reach_hz(settings: TuneSettings, sample: BodySample, places: dict[ModeAddress, int]) -> float:
    """Frequency up to which modes must be known, lest one comes too near unseen."""
    highest = 0.0
    for target in settings.targets:
        if isinstance(target, KeepAway):
            wanted = target.wanted or voiced_modes(settings.targets)
            freq_hz = [float(sample.freq_hz[places[mode]]) for mode in wanted]
            top = max(target.multiples) * max(freq_hz, default=0.0)
            highest = max(highest, top * ratio_of_cents(target.distance_cents + _SPARE_CENTS))
    return highest


def _tuning(
    task: TuneTask,
    author: TunedBody,
    attempts: Sequence[Attempt[TunedBody]],
    *,
    is_complete: bool,
) -> Tuning:
    found = [a for a in attempts if a.is_answer and a.descent is not None]
    solutions = [
        _solution(a.descent.place, author, a.number) for a in found if a.descent is not None
    ]
    solutions.sort(key=lambda solution: solution.change)
    nearest = None if solutions else _nearest(attempts)
    return Tuning(
        task=task,
        before=author,
        solutions=tuple(solutions),
        nearest=nearest,
        verdict=None if nearest is None else judge(task, nearest),
        attempts=len({attempt.number for attempt in attempts}),
        is_complete=is_complete,
    )


def _solution(body: TunedBody, author: TunedBody, start: int) -> TunedSolution:
    rooms = [d.sum_cents(body.sample.quantities) for d in body.wanted if d.is_limit]
    moved = body.position - author.position
    return TunedSolution(
        body=body,
        start=start,
        change=float(np.sqrt(np.mean(moved**2))),
        room_cents=min(rooms, default=math.inf),
    )


def _nearest(attempts: Sequence[Attempt[TunedBody]]) -> TunedBody | None:
    """Where the best attempt ended; one to the wanted accuracy goes before drafts."""
    ends = [(not a.is_exact, a.descent.place) for a in attempts if a.descent is not None]
    if not ends:
        return None
    return min(ends, key=lambda end: (end[0], end[1].state.merit))[1]
