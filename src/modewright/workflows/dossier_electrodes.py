"""What the dossier tells of plates that choose modes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from modewright.errors import ModewrightError
from modewright.report.dossier_content import ShownElectrodes
from modewright.workflows.shaped_plates import plates_picture, shape_plates

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.workflows.analysis import Analysis

__all__ = ["shown_electrodes"]

# Enough for two sigma to a decibel; the command makes as many as the design asks for.
_PIECES = 300


def shown_electrodes(found: Analysis, tell: Callable[[str], None]) -> ShownElectrodes | str | None:
    """Shape plates as the design asks for.

    Parameters
    ----------
    found : Analysis
    tell : callable
        Told what is being done.

    Returns
    -------
    ShownElectrodes, str or None
        A sentence if no plates do it; None if the design does not ask.
    """
    design = found.placed.design
    if design.electrodes is None:
        return None
    settings = replace(design.electrodes, samples=min(design.electrodes.samples, _PIECES))
    tell("plates that choose modes")
    try:
        shaped = shape_plates(found.body, found.hearing.operating_point, settings, None)
    except ModewrightError as error:
        return str(error)
    name = design.design.name
    return ShownElectrodes(
        data={"name": name, **shaped.data},
        plates_png=plates_picture(shaped, name),
        places_png=shaped.places_png,
    )
