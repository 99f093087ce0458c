"""A whole instrument: all notes tuned, laid out and brought together on their base."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

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
    one that stands still, and the notes then by what the base does to the drafts: that differs by
    hundredths of a cent from what it does to the notes.
    """
    if plan.base is None or not plan.compass.on_base:
        compass = tune_compass(plan, family, folder, progress=progress)
    else:
        draft = _draft(plan)
        compass = tune_compass(draft, family, folder, progress=progress)
        laid = lay_out(draft, compass.notes, folder)
        moved = bring_together(draft, compass.notes, laid, progress=progress).base_cents
        compass = retune_compass(plan, compass, moved, folder, progress=progress)
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
