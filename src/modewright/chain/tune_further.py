"""Which other dimension of a design would help if it were free too."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.sensitivity import frequency_sensitivity
from modewright.tune.demands import slopes_of, worst_cents
from modewright.tune.quantities import SIZES, Quantities
from modewright.tune.step import Slopes, best_step

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.chain.tune_task import TuneTask
    from modewright.chain.tune_terrain import TunedBody

__all__ = ["FurtherDimension", "further_dimensions"]

_SECTIONS = ("resonator.", "stock.", "features[")
# How far a further dimension may move, as a share of its value.
_MOVED_SHARE = 0.1
_HELPS = 0.8
_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class FurtherDimension:
    """A number of the design that is not free and would help.

    Parameters
    ----------
    address : str
    now : str
        Its value.
    change : str
        What slopes ask of it, at most a tenth of its value, such as ``-2.65 mm``.
    then_cents : float
        Largest miss that slopes promise then. [cents]
    is_met_then : bool
        Whether all targets would be met then, by the slopes.
    """

    address: str
    now: str
    change: str
    then_cents: float
    is_met_then: bool


def further_dimensions(
    task: TuneTask,
    body: TunedBody,
    slopes: Slopes,
    box: tuple[NDArray[np.float64], NDArray[np.float64]],
) -> tuple[FurtherDimension, ...]:
    """Try every other dimension of the body together with the free ones, by slopes.

    Parameters
    ----------
    task : TuneTask
    body : TunedBody
        The nearest design.
    slopes : Slopes
        There, by the free dimensions.
    box : tuple of float arrays, shape (dimensions,)
        Bounds of the change of the free dimensions.

    Returns
    -------
    tuple of FurtherDimension
        At most three, the most helpful first.
    """
    found = frequency_sensitivity(
        body.design, task.folder, count=task.settings.modes, accuracy="draft"
    )
    place_of = {label: place for place, label in enumerate(found.modes.labels)}
    order = [place_of.get(label) for label in body.sample.labels]
    taken = {address for dimension in task.dimensions for address in dimension.addresses}
    held = best_step(body.state, slopes, *box).promised
    lowest, highest = np.append(box[0], -1.0), np.append(box[1], 1.0)
    helpful: list[FurtherDimension] = []
    for number, parameter in enumerate(found.parameters):
        address = parameter.address
        if address.text in taken or not address.text.startswith(_SECTIONS):
            continue
        reach = _MOVED_SHARE * abs(parameter.value)
        cents = reach * found.cents_per_unit[:, number]
        # Drafts name now and then a mode differently; it is then left as it is.
        column = np.array([0.0 if place is None else cents[place] for place in order])
        step = best_step(body.state, _with_column(body, slopes, column), lowest, highest)
        moved = reach * float(step.change[-1])
        if step.promised.merit < _HELPS * held.merit:
            helpful.append(
                FurtherDimension(
                    address=address.text,
                    now=address.shown(parameter.value),
                    change=f"{'+' if moved > 0 else ''}{address.shown(moved, digits=2)}",
                    then_cents=worst_cents(body.wanted, step.promised),
                    is_met_then=step.promised.worst <= 1.0,
                )
            )
    return tuple(sorted(helpful, key=lambda further: further.then_cents)[:_SHOWN])


def _with_column(body: TunedBody, slopes: Slopes, freq_cents: NDArray[np.float64]) -> Slopes:
    """Slopes with one more dimension, whose effect on decays and sizes is not counted."""
    added = slopes_of(
        body.wanted,
        Quantities(
            freq_cents=freq_cents[:, None],
            decay_cents=np.zeros((len(freq_cents), 1)),
            size_cents=np.zeros((len(SIZES), 1)),
        ),
    )
    return Slopes(
        misses=np.hstack([slopes.misses, added.misses]),
        rooms=np.hstack([slopes.rooms, added.rooms]),
    )
