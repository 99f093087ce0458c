"""One body of the search: solved once, with the slopes of all that targets ask about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.cache import fingerprint, keep_arrays, kept_arrays
from modewright.chain.mode_places import mode_places
from modewright.chain.mode_traces import ModeTraces, mode_traces, recognise
from modewright.chain.tune_heard import heard_modes, size_cents
from modewright.checks import frozen_array
from modewright.design.hash import content_hash
from modewright.errors import ModewrightError
from modewright.materials.choice import chosen_material
from modewright.modes.body_change import BodyChange
from modewright.modes.derivatives import frequency_derivatives
from modewright.modes.solid import REVISION, solve_body
from modewright.tune.quantities import SIZES, Quantities

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.chain.mode_places import ModePlaces
    from modewright.chain.places import PlacedDesign
    from modewright.chain.tune_heard import HeardModes
    from modewright.chain.tune_task import TuneTask
    from modewright.modes.basis import Modes
    from modewright.modes.solid import Accuracy
    from modewright.modes.solution import Solution
    from modewright.modes.volume_solution import VolumeSolution

__all__ = ["BodySample", "sample_body"]

_KIND = "tune"
# Raised whenever the same body would be seen differently here: kept samples are not read then.
_SAMPLE_REVISION = 3
# A start that walks by halves, then as far as both descents go, and tries in vain to settle.
_MOST_BODIES_OF_A_START = 120
_KEPT = 5000
# Steps in shares of a range: for exact slopes of the modes, and for differences of the rest.
_FINE_STEP, _STEP, _DECAY_STEP = 1e-5, 1e-2, 4e-2
_CENTS_PER_NEPER = 1200 / np.log(2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodySample:
    """Modes of one body as the search sees them.

    Parameters
    ----------
    labels : tuple of str, length modes
        In rising order of frequency.
    quantities : Quantities
        Frequencies as the design means them.
    slopes : Quantities
        By the free dimensions in their ranges, last axis.
    traces : float array, shape (places, modes)
        From `mode_traces`.
    shift_cents : float array, shape (modes,)
        What air, bias and magnets do to the frequencies; 0 where the body alone is meant. [cents]
    error_cents : float array, shape (modes,)
        Estimate of the discretisation error. [cents]
    """

    labels: tuple[str, ...]
    quantities: Quantities
    slopes: Quantities
    traces: NDArray[np.float64]
    shift_cents: NDArray[np.float64]
    error_cents: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("traces", "shift_cents", "error_cents"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))

    @property
    def freq_hz(self) -> NDArray[np.float64]:
        """Frequencies, shape (modes,). [Hz]"""
        return 2 ** (self.quantities.freq_cents / 1200)

    @property
    def known_by(self) -> ModeTraces:
        """What its modes are recognised by."""
        return ModeTraces(shapes=self.traces, freq_hz=self.freq_hz, error_cents=self.error_cents)

    @property
    def t60_s(self) -> NDArray[np.float64]:
        """Decay times, shape (modes,). [s]"""
        return 2 ** (self.quantities.decay_cents / 1200)


def sample_body(task: TuneTask, position: NDArray[np.float64], accuracy: Accuracy) -> BodySample:
    """Solve a body and keep what the search needs; read it back if it was solved before.

    Parameters
    ----------
    task : TuneTask
    position : float array, shape (dimensions,)
        In the ranges of the free dimensions, 0 to 1.
    accuracy : {"draft", "normal", "fine"}

    Returns
    -------
    BodySample

    Raises
    ------
    ModewrightError
        If no body comes of it, its modes are not found, or it snaps onto a plate or pole.
    """
    task.progress(f"{accuracy} solution at {task.values_text(position)}")
    placed = task.placed_at(position)
    key = fingerprint(
        content_hash(placed.design, task.folder),
        # Where its shapes are compared.
        content_hash(task.bare_design, task.folder),
        [(d.name, d.lowest, d.highest) for d in task.dimensions],
        (task.settings.modes, accuracy, REVISION, _SAMPLE_REVISION),
        (task.is_biased, task.wants_decay, task.wants_sizes),
    )
    kept = kept_arrays(_KIND, key)
    if kept is not None:
        return _from_arrays(kept)
    solid = chosen_material(placed.design.material).solid
    modes, solution = solve_body(placed.blank, solid, count=task.settings.modes, accuracy=accuracy)
    places = mode_places(task.placed)
    seen = _seen(task, placed, modes, places)
    found = BodySample(
        labels=seen.heard.labels,
        quantities=Quantities(
            freq_cents=seen.heard.freq_cents,
            decay_cents=seen.heard.decay_cents,
            size_cents=size_cents(placed.blank),
        ),
        slopes=_slopes(task, position, accuracy, solution, seen),
        traces=seen.traces.shapes,
        shift_cents=seen.heard.shift_cents,
        error_cents=seen.traces.error_cents,
    )
    # All of a search, and what shorter ones have kept before it.
    at_most = max(_KEPT, _MOST_BODIES_OF_A_START * (task.settings.starts + 1))
    keep_arrays(_KIND, key, _to_arrays(found), at_most=at_most)
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Seen:
    """Modes of a body, what they sound like, and what they are recognised by."""

    modes: Modes
    heard: HeardModes
    places: ModePlaces
    traces: ModeTraces


def _seen(task: TuneTask, placed: PlacedDesign, modes: Modes, places: ModePlaces) -> _Seen:
    heard = heard_modes(placed, modes, is_biased=task.is_biased)
    traces = ModeTraces(
        shapes=mode_traces(places, placed.blank, heard.shapes),
        freq_hz=2 ** (heard.freq_cents / 1200),
        error_cents=modes.error_cents[heard.order],
    )
    return _Seen(modes=modes, heard=heard, places=places, traces=traces)


def _slopes(
    task: TuneTask,
    position: NDArray[np.float64],
    accuracy: Accuracy,
    solution: Solution | VolumeSolution,
    seen: _Seen,
) -> Quantities:
    modes, heard = seen.modes, seen.heard
    numbers = range(len(task.dimensions))
    around = [_around(task, position, number, _FINE_STEP) for number in numbers]
    changes = [_change(lower, upper, step) for lower, upper, step in around]
    rates = frequency_derivatives(solution, changes)[heard.order]
    alone_hz = modes.freq_hz[heard.order]
    freq = _CENTS_PER_NEPER * rates / alone_hz[:, None]
    decay, size = np.zeros_like(freq), np.zeros((len(SIZES), len(changes)))
    for number, change in enumerate(changes):
        if task.wants_sizes:
            lower, upper, step = _around(task, position, number, _STEP)
            size[:, number] = (size_cents(upper.blank) - size_cents(lower.blank)) / (2 * step)
        if _leaves_body(change):
            # A gap, a bias, a place: the modes are the same, what acts on them is not.
            lower, upper, step = _around(task, position, number, _STEP)
            below, above = (
                heard_modes(placed, modes, is_biased=task.is_biased) for placed in (lower, upper)
            )
            freq[:, number] += (above.freq_cents - below.freq_cents) / (2 * step)
            decay[:, number] = (above.decay_cents - below.decay_cents) / (2 * step)
        elif task.wants_decay:
            decay[:, number] = _decay_slope(task, position, number, accuracy, seen)
    return Quantities(freq_cents=freq, decay_cents=decay, size_cents=size)


def _around(
    task: TuneTask, position: NDArray[np.float64], number: int, step: float
) -> tuple[PlacedDesign, PlacedDesign, float]:
    """Bodies a step below and above, and half their distance; one-sided at the edge of sense."""
    unit = np.eye(len(position))[number] * step
    try:
        return task.placed_at(position - unit), task.placed_at(position + unit), step
    except ModewrightError:
        here = task.placed_at(position)
    try:
        return here, task.placed_at(position + unit), step / 2
    except ModewrightError:
        return task.placed_at(position - unit), here, step / 2


def _change(lower: PlacedDesign, upper: PlacedDesign, step: float) -> BodyChange:
    return BodyChange(
        lower=lower.blank,
        upper=upper.blank,
        lower_material=chosen_material(lower.design.material).solid,
        upper_material=chosen_material(upper.design.material).solid,
        step=step,
    )


def _leaves_body(change: BodyChange) -> bool:
    below = fingerprint(change.lower, change.lower_material)
    return below == fingerprint(change.upper, change.upper_material)


def _decay_slope(
    task: TuneTask,
    position: NDArray[np.float64],
    number: int,
    accuracy: Accuracy,
    seen: _Seen,
) -> NDArray[np.float64]:
    """Slope of the decays from a second solution, since the losses are not differentiated.

    0 for a mode that is not recognised there: it is another one whose decay one would read.
    """
    step = _DECAY_STEP if position[number] + _DECAY_STEP <= 1.0 else -_DECAY_STEP
    placed = task.placed_at(position + np.eye(len(position))[number] * step)
    solid = chosen_material(placed.design.material).solid
    count = len(seen.heard.order)
    modes, _ = solve_body(placed.blank, solid, count=count, accuracy=accuracy)
    there = _seen(task, placed, modes, seen.places)
    again = recognise(seen.traces, there.traces)
    change = there.heard.decay_cents[again.pairs] - seen.heard.decay_cents
    return np.where(again.is_sure, change / step, 0.0)


def _to_arrays(sample: BodySample) -> dict[str, NDArray[np.generic]]:
    return {
        "labels": np.array(sample.labels, dtype=np.str_),
        "stacked": sample.quantities.stacked,
        "slopes": sample.slopes.stacked,
        "traces": sample.traces,
        "shift_cents": sample.shift_cents,
        "error_cents": sample.error_cents,
    }


def _from_arrays(arrays: dict[str, NDArray[np.generic]]) -> BodySample:
    return BodySample(
        labels=tuple(str(label) for label in arrays["labels"]),
        quantities=Quantities.of_stacked(np.asarray(arrays["stacked"], dtype=float)),
        slopes=Quantities.of_stacked(np.asarray(arrays["slopes"], dtype=float)),
        traces=np.asarray(arrays["traces"], dtype=float),
        shift_cents=np.asarray(arrays["shift_cents"], dtype=float),
        error_cents=np.asarray(arrays["error_cents"], dtype=float),
    )
