"""A whole instrument: all notes tuned, laid out and brought together on their base."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.compass import retune_compass, tune_compass
from modewright.chain.compass_coupling import bring_together
from modewright.chain.compass_sheet import check_fits_sheet, lay_out
from modewright.tune.targets import Interval, Partials, Pitch

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.chain.compass import TunedCompass
    from modewright.chain.compass_coupling import Together
    from modewright.chain.compass_sheet import LaidOut
    from modewright.design.instrument_plan import InstrumentPlan
    from modewright.design.schema import Design

__all__ = ["Instrument", "make_instrument"]

_ROUGH_CENTS = 8.0
_MOST_PASSES, _SAME_CENTS = 6, 0.2
# Of what the base was said to do and does, the share that the next guess goes, and its bounds.
_LEAST_GAIN, _LARGEST_GAIN, _LONGEST_STEP_CENTS = 0.2, 2.0, 60.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Instrument:
    """An instrument of many notes.

    Parameters
    ----------
    compass : TunedCompass
    laid : LaidOut
    together : Together
    tuned_for_cents : float array, shape (notes,), or None
        What the base was taken to do to each note as it was tuned; None if the plan means pitches
        on a base that stands still. [cents]
    """

    compass: TunedCompass
    laid: LaidOut
    together: Together
    tuned_for_cents: NDArray[np.float64] | None

    @property
    def has_settled(self) -> NDArray[np.bool_]:
        """Whether the base does to each note what it was tuned for, shape (notes,)."""
        if self.tuned_for_cents is None:
            return np.ones(len(self.compass.notes), dtype=np.bool_)
        return np.abs(self.together.base_cents - self.tuned_for_cents) <= _SAME_CENTS


def make_instrument(
    plan: InstrumentPlan,
    family: Design,
    folder: Path,
    *,
    progress: Callable[[str], None] | None = None,
) -> Instrument:
    """Tune, lay out and bring together all notes.

    Parameters
    ----------
    plan : InstrumentPlan
    family : Design
        The design that every note is made from.
    folder : Path
        Folder of its file.
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Instrument

    Raises
    ------
    ModewrightError
        If the family cannot be solved or is no sheet, a name of the plan fits nothing, or a blank,
        be it only the family's, is larger than the sheet.

    Notes
    -----
    If the plan means the pitch on a base that gives way, drafts of all notes are roughly tuned on
    one that stands still, and the notes then by what the base does to the drafts. Where it does
    something else to the notes, as a light base may, they are tuned again, six times at most, each
    by the secant through the last two. What has not settled then is told by ``has_settled``.
    """
    check_fits_sheet(plan, family, folder)
    if plan.base is None or not plan.compass.on_base:
        compass = tune_compass(plan, family, folder, progress=progress)
        return _laid_out(plan, compass, None, folder, progress)
    draft = _draft(plan)
    compass = tune_compass(draft, family, folder, progress=progress)
    made = _laid_out(draft, compass, None, folder, progress)
    assumed = made.together.base_cents
    earlier: Instrument | None = None
    for _ in range(_MOST_PASSES):
        compass = retune_compass(plan, compass, assumed, folder, progress=progress)
        made = _laid_out(plan, compass, assumed, folder, progress)
        if made.has_settled.all():
            break
        assumed, earlier = _next_guess(assumed, made, earlier), made
    return made


def _next_guess(
    assumed: NDArray[np.float64], made: Instrument, earlier: Instrument | None
) -> NDArray[np.float64]:
    """What the base will do to the next notes, by the secant through the last two. [cents]"""
    short = made.together.base_cents - assumed
    gain = np.ones_like(short)
    if earlier is not None and earlier.tuned_for_cents is not None:
        moved = assumed - earlier.tuned_for_cents
        answered = made.together.base_cents - earlier.together.base_cents
        has_moved = np.abs(moved) > _SAME_CENTS
        slope = answered[has_moved] / moved[has_moved]
        gain[has_moved] = np.where(slope < 1, 1 / np.maximum(1 - slope, 1e-9), _LARGEST_GAIN)
    step = np.clip(gain, _LEAST_GAIN, _LARGEST_GAIN) * short
    return assumed + np.clip(step, -_LONGEST_STEP_CENTS, _LONGEST_STEP_CENTS)


def _laid_out(
    plan: InstrumentPlan,
    compass: TunedCompass,
    tuned_for_cents: NDArray[np.float64] | None,
    folder: Path,
    progress: Callable[[str], None] | None,
) -> Instrument:
    laid = lay_out(plan, compass.notes, folder)
    together = bring_together(plan, compass.notes, laid, progress=progress)
    return Instrument(
        compass=compass, laid=laid, together=together, tuned_for_cents=tuned_for_cents
    )


def _draft(plan: InstrumentPlan) -> InstrumentPlan:
    """The plan with tolerances that drafts can meet at once."""
    targets = tuple(
        replace(target, within_cents=max(target.within_cents, _ROUGH_CENTS))
        if isinstance(target, Pitch | Interval | Partials)
        else target
        for target in plan.tune.targets
    )
    even_within_cents = max(plan.compass.even_within_cents, _ROUGH_CENTS)
    return replace(
        plan,
        tune=replace(plan.tune, accuracy="draft", targets=targets),
        compass=replace(plan.compass, even_within_cents=even_within_cents),
    )
