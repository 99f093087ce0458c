"""Pictures of what inverse design found."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.geometry.flatten import flatten
from modewright.pitch import ratio_of_cents
from modewright.report.plots.outlines import BlankPicture, outlines_png
from modewright.report.plots.tune_targets import TargetRow, tune_targets_png
from modewright.tune.demands import voiced_modes
from modewright.tune.targets import KeepAway, mode_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from modewright.chain.tune import Tuning
    from modewright.chain.tune_task import TuneTask
    from modewright.chain.tune_terrain import TunedBody
    from modewright.geometry.blank import Blank

__all__ = ["standing_targets_png", "tuned_outlines_png", "tuning_targets_png"]

_SAGITTA_M = 2e-5
_SIDE_PLACES = 200


def tuning_targets_png(found: Tuning) -> bytes:
    """Where the modes of every design lie against where they are wanted."""
    rows = [_row(found.task, caption, body) for caption, body in _designs(found)]
    return tune_targets_png(rows)


def standing_targets_png(task: TuneTask, body: TunedBody) -> bytes:
    """Where the modes of one design lie against where they are wanted."""
    return tune_targets_png([_row(task, "as it stands", body)])


def tuned_outlines_png(found: Tuning) -> bytes:
    """Blanks of every design, to one scale."""
    return outlines_png([_picture(found, caption, body) for caption, body in _designs(found)])


def _designs(found: Tuning) -> list[tuple[str, TunedBody]]:
    tuned = [(f"solution {i}", s.body) for i, s in enumerate(found.solutions, 1)]
    nearest = [] if found.nearest is None else [("nearest", found.nearest)]
    return [("as it was", found.before), *tuned, *nearest]


def _row(task: TuneTask, caption: str, body: TunedBody) -> TargetRow:
    sample = body.sample
    freq_hz = {name: float(sample.freq_hz[place]) for name, place in body.places.items()}
    return TargetRow(
        caption=caption,
        freq_hz=sample.freq_hz,
        named=tuple((mode_text(name), hz) for name, hz in freq_hz.items()),
        wanted_hz=tuple(_wanted_hz(body)),
        closed_hz=tuple(_closed_hz(task, body)),
    )


def _wanted_hz(body: TunedBody) -> Iterator[float]:
    """Frequency at which each demand of a pitch or a ratio would be met by its upper mode."""
    for demand in body.wanted:
        if not demand.is_limit:
            place = demand.terms[0][0]
            miss_cents = demand.sum_cents(body.sample.quantities)
            yield float(body.sample.freq_hz[place]) / ratio_of_cents(miss_cents)


def _closed_hz(task: TuneTask, body: TunedBody) -> Iterator[tuple[float, float]]:
    for target in task.settings.targets:
        if isinstance(target, KeepAway):
            factor = ratio_of_cents(target.distance_cents)
            for mode in target.wanted or voiced_modes(task.settings.targets):
                for multiple in target.multiples:
                    middle = multiple * float(body.sample.freq_hz[body.places[mode]])
                    yield middle / factor, middle * factor


def _picture(found: Tuning, caption: str, body: TunedBody) -> BlankPicture:
    blank = found.task.placed_at(body.position).blank
    loops = (blank.outline.outer, *blank.outline.holes)
    return BlankPicture(
        caption=f"{caption}: {found.task.values_text(body.position)}",
        loops_m=tuple(flatten(loop, _SAGITTA_M) for loop in loops),
        side_m=_side_m(blank),
    )


def _side_m(blank: Blank) -> NDArray[np.float64] | None:
    """Outline from the side along x, None for a sheet of one thickness."""
    if blank.relief is None:
        return None
    ends = blank.outline.outer.vertices_m[:, 0]
    x = np.linspace(float(ends.min()), float(ends.max()), _SIDE_PLACES)
    lower, upper = blank.relief.faces_m(x, blank.thickness_m)
    there, back = np.stack([x, lower], axis=1), np.stack([x, upper], axis=1)[::-1]
    return np.concatenate([there, back])
