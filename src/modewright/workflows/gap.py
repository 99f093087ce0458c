"""Ring and signal over the gap of a pickup, and the holes that serve it: a design in, data out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.chain.body import analyse_placed
from modewright.chain.gap_course import choose_plate, gap_course
from modewright.chain.places import check_places, located_faults
from modewright.design.load import load_design
from modewright.errors import TransducerError
from modewright.modes.address import ModeAddressError, mode_number
from modewright.modes.solid import Accuracy
from modewright.report.gap_data import choice_data, choice_text, course_data, course_tables
from modewright.report.tables import origin
from modewright.workflows.amounts import positive_amount
from modewright.workflows.analysis import warning_texts

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from modewright.chain.body import Body

__all__ = ["SWING", "Accuracy", "choice_text", "course_tables", "report_gap"]

SWING = "0.1 mm"
_MODES, _SHOWN = 12, 6


def report_gap(
    path: Path,
    *,
    pickup: str = "",
    mode: str = "1",
    t60: str | None = None,
    signal: str | None = None,
    swing: str = SWING,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Vary the gap of a pickup, and choose gap and holes for a mode.

    Parameters
    ----------
    path : Path
        Design file.
    pickup : str
        Name of the pickup; the first one if empty.
    mode : str
        Number or label.
    t60 : str, optional
        Ring that is wanted, with its unit; nine tenths of that over the widest gap if left out.
    signal : str, optional
        Sensitivity that is wanted, such as ``"20 V/mm"``.
    swing : str
        Of the reference point, that the gap has to let pass twice over.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        ``course`` and ``choice``.

    Raises
    ------
    ModewrightError
        If the design is at fault or has no such pickup or mode.
    """
    t60_s = None if t60 is None else positive_amount("t60", t60, "s", "3 s")
    swing_m = positive_amount("swing", swing, "m", "0.2 mm")
    least = 0.0 if signal is None else positive_amount("signal", signal, "V/m", "20 V/mm")
    loaded = load_design(path)
    placed = check_places(loaded)
    with located_faults(loaded):
        body = analyse_placed(placed, count=_MODES, accuracy=accuracy, progress=progress)
        number = _pickup_number(path, body, pickup)
        index = _mode_index(body, mode)
        if progress is not None:
            progress("gaps")
        course = gap_course(body, number)
        wanted_s = course.usual_t60_s(index) if t60_s is None else t60_s
        choice = choose_plate(
            body, course, number, index, swing_m=swing_m, t60_s=wanted_s, least_v_per_m=least
        )
    shown = sorted({index, *range(min(_SHOWN, len(body.basis.freq_hz)))})
    return {
        "name": loaded.design.design.name,
        **origin(loaded.design_hash, accuracy),
        "course": course_data(course, body.basis, shown),
        "choice": choice_data(
            choice,
            pickup=course.name,
            mode=index,
            swing_m=swing_m,
            t60_s=wanted_s,
            least_v_per_m=least,
        ),
        "warnings": warning_texts(loaded, placed),
    }


def _pickup_number(path: Path, body: Body, name: str) -> int:
    names = [pickup.name for pickup in body.pickups]
    if not names:
        raise TransducerError(
            f"{path}: pickups: expected at least one, got none.", hint="Add [[pickups]]."
        )
    if not name:
        return 0
    if name not in names:
        raise TransducerError(f"pickup: expected one of {', '.join(names)}, got {name}.")
    return names.index(name)


def _mode_index(body: Body, mode: str) -> int:
    try:
        return mode_number(int(mode) if mode.isdecimal() else mode, body.basis.labels) - 1
    except ModeAddressError as error:
        raise TransducerError(
            f"mode: expected {error.expected}, got {mode}.", hint=error.hint
        ) from error
