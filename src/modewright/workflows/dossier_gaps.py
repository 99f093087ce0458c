"""What the dossier tells of the gaps of pickups."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.chain.gap_course import choose_plate, gap_course
from modewright.errors import TransducerError
from modewright.report.dossier_content import ShownGap
from modewright.report.gap_data import choice_data, course_data, course_picture

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.workflows.analysis import Analysis

__all__ = ["shown_gaps"]

_MOST_MODES = 6
# Of the reference point, that the chosen gap lets pass twice over.
_SWING_M = 0.1e-3


def shown_gaps(found: Analysis, tell: Callable[[str], None]) -> list[ShownGap]:
    """Vary the gap of every pickup, and choose gap and holes for the lowest mode that is heard.

    Parameters
    ----------
    found : Analysis
    tell : callable
        Told what is being done, and which pickup was left out and why.

    Returns
    -------
    list of ShownGap
    """
    shown: list[ShownGap] = []
    body = found.body
    for number, pickup in enumerate(body.pickups):
        tell(f"gap of {pickup.name}")
        try:
            course = gap_course(body, number)
            modes = _modes(found, course.sensitivity_v_per_m[0])
            wanted_s = course.usual_t60_s(modes[0])
            choice = choose_plate(body, course, number, modes[0], swing_m=_SWING_M, t60_s=wanted_s)
        except TransducerError as error:
            tell(f"left out gap of {pickup.name}: {error}")
            continue
        data = {
            "course": course_data(course, body.basis, modes),
            "choice": choice_data(
                choice,
                pickup=pickup.name,
                mode=modes[0],
                swing_m=_SWING_M,
                t60_s=wanted_s,
                least_v_per_m=0.0,
            ),
        }
        shown.append(ShownGap(data=data, chart_png=course_picture(course, body.basis, modes)))
    return shown


def _modes(found: Analysis, sensitivity: np.ndarray) -> list[int]:
    """Those that the loop treats, else the lowest that the plate hears."""
    if found.closed_loop is not None and len(found.closed_loop.regulators.modes):
        return [int(mode) for mode in found.closed_loop.regulators.modes][:_MOST_MODES]
    heard = np.flatnonzero(sensitivity > np.nanmax(sensitivity) * 1e-3)
    return [int(mode) for mode in heard[:_MOST_MODES]]
