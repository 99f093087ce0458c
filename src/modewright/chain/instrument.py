"""A whole instrument: all notes tuned, laid out and brought together on their base."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.compass import retune_compass, tune_compass
from modewright.chain.compass_coupling import bring_together
from modewright.chain.compass_sheet import lay_out
from modewright.tune.targets import Interval, Partials, Pitch

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.chain.compass import TunedCompass
    from modewright.chain.compass_coupling import Together
    from modewright.chain.compass_sheet import LaidOut
    from modewright.design.instrument_plan import InstrumentPlan
    from modewright.design.schema import Design

__all__ = ["Instrument", "make_instrument"]

_ROUGH_CENTS = 8.0
_MOST_PASSES, _SAME_CENTS = 3, 0.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Instrument:
    """An instrument of many notes.

    Parameters
    ----------
    compass : TunedCompass
    laid : LaidOut
    together : Together
    """

    compass: TunedCompass
    laid: LaidOut
    together: Together


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
        If the family cannot be solved, a name of the plan fits nothing, or a blank is larger than
        the sheet.

    Notes
    -----
    If the plan means the pitch on a base that gives way, drafts of all notes are roughly tuned on
    one that stands still, and the notes then by what the base does to the drafts. Where it does
    something else to the notes, as a light base may, they are tuned again, three times at most.
    """
    if plan.base is None or not plan.compass.on_base:
        return _laid_out(
            plan, tune_compass(plan, family, folder, progress=progress), folder, progress
        )
    draft = _draft(plan)
    compass = tune_compass(draft, family, folder, progress=progress)
    made = _laid_out(draft, compass, folder, progress)
    for _ in range(_MOST_PASSES):
        base_cents = made.together.base_cents
        compass = retune_compass(plan, compass, base_cents, folder, progress=progress)
        made = _laid_out(plan, compass, folder, progress)
        if np.abs(made.together.base_cents - base_cents).max() <= _SAME_CENTS:
            break
    return made


def _laid_out(
    plan: InstrumentPlan,
    compass: TunedCompass,
    folder: Path,
    progress: Callable[[str], None] | None,
) -> Instrument:
    laid = lay_out(plan, compass.notes, folder)
    together = bring_together(plan, compass.notes, laid, progress=progress)
    return Instrument(compass=compass, laid=laid, together=together)


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
