"""What the dossier tells beyond the note as designed: targets, a dimension varied."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.kept_sweep import kept_sweep
from modewright.chain.places import located_faults
from modewright.chain.tune import standing_body
from modewright.errors import DesignError, ModewrightError
from modewright.report.dossier_content import ShownSweep, ShownTargets
from modewright.report.standing_data import standing_data
from modewright.report.sweep_data import sweep_picture, sweep_tables
from modewright.report.tune_pictures import standing_targets_png

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.chain.tune_task import TuneTask
    from modewright.chain.tune_terrain import TunedBody
    from modewright.design.free_dimensions import Dimension
    from modewright.design.load import LoadedDesign

__all__ = ["shown_targets_and_sweep"]

_STEPS, _MODES = 24, 8
# A dimension that moves the modes against each other by less shows nothing.
_LEAST_CENTS = 1.0


def shown_targets_and_sweep(
    loaded: LoadedDesign, progress: Callable[[str], None]
) -> tuple[ShownTargets | str | None, ShownSweep | str | None]:
    """Hold a design against its ``[tune]``, and vary the free dimension that tells most.

    Parameters
    ----------
    loaded : LoadedDesign
    progress : callable
        Told what is being done.

    Returns
    -------
    tuple
        Each what to show, a sentence on why there is nothing to show, or None for a design
        without ``[tune]``.

    Raises
    ------
    DesignError
        If the section names what the design does not have.
    """
    if loaded.design.tune is None:
        return None, None
    try:
        with located_faults(loaded):
            task, body = standing_body(loaded.design, loaded.folder, progress=progress)
    except DesignError:
        raise
    except ModewrightError as error:
        return f"The targets of [tune] cannot be held against this design. {error}", None
    shown = ShownTargets(
        data=standing_data(task, body), targets_png=standing_targets_png(task, body)
    )
    return shown, _shown_sweep(task, body, progress)


def _shown_sweep(
    task: TuneTask, body: TunedBody, progress: Callable[[str], None]
) -> ShownSweep | str | None:
    dimension = _telling_dimension(task, body)
    if dimension is None:
        return None
    design = task.design
    values = np.linspace(dimension.lowest, dimension.highest, _STEPS + 1).tolist()
    try:
        found = kept_sweep(
            design, task.folder, dimension.name, values, count=_MODES, progress=progress
        )
    except ModewrightError as error:
        # The search goes round corners of a range where no body is left; a sweep crosses them.
        return f"{dimension.name} could not be varied over the whole of its range. {error}"
    here = found.address.value
    return ShownSweep(
        address=dimension.name,
        lowest=dimension.text(dimension.lowest),
        highest=dimension.text(dimension.highest),
        here="not given" if here is None else dimension.text(here),
        steps=_STEPS,
        tables=sweep_tables(found),
        sweep_png=sweep_picture(found, design.design.name, design.design.a4_hz, here=here),
    )


def _telling_dimension(task: TuneTask, body: TunedBody) -> Dimension | None:
    """The free dimension that moves the lowest modes most against each other; None if none does."""
    slopes = body.sample.slopes.freq_cents[:_MODES]
    apart = slopes.std(axis=0)
    best = int(np.argmax(apart))
    return task.dimensions[best] if apart[best] >= _LEAST_CENTS else None
