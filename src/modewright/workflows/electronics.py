"""Noise and disturbances around the pickup of a design: a file in, data out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.chain.closed_loop import analyse_latency
from modewright.chain.disturbances import analyse_disturbances
from modewright.chain.recovery import analyse_recovery
from modewright.modes.solid import Accuracy
from modewright.report.electronics_data import (
    disturbance_data,
    disturbance_tables,
    latency_data,
    latency_tables,
    recovery_data,
    recovery_table,
)
from modewright.report.tables import origin, pickup_data
from modewright.report.text_tables import TextTable, pickup_tables
from modewright.workflows.analysis import Analysis, warning_texts, with_loop

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["Accuracy", "electronics_data", "electronics_tables", "report_electronics"]

Data = dict[str, Any]

_UNTREATED = 6


def report_electronics(
    path: Path, *, accuracy: Accuracy = "normal", progress: Callable[[str], None] | None = None
) -> Data:
    """Everything around the pickup as plain data.

    Parameters
    ----------
    path : Path
        Design file.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        ``pickups`` with their noise, ``after_a_strike``, ``latency``, and ``disturbances``,
        which is None without ``[surroundings]``.

    Raises
    ------
    LoopError
        If the design has no pickup or no driver; says what to add.
    ModewrightError
        If anything else of it cannot be.
    """
    found = with_loop(path, accuracy=accuracy, progress=progress)
    return {
        **origin(found.loaded.design_hash, accuracy),
        "name": found.loaded.design.design.name,
        **electronics_data(found),
        "warnings": warning_texts(found.loaded, found.placed),
    }


def electronics_data(found: Analysis) -> Data:
    """What `report_electronics` tells, of a design that is already worked out and has a loop."""
    design, hearing = found.placed.design, found.hearing
    room = design.surroundings
    return {
        "pickups": [
            pickup_data(pickup, hearing.moves_at_reference, found.shown_modes)
            for pickup in hearing.pickups
        ],
        "after_a_strike": recovery_data(
            hearing, design.strike.force_n, analyse_recovery(design, found.body, hearing)
        ),
        "latency": latency_data(
            analyse_latency(design, hearing),
            hearing.operating_point.basis.freq_hz,
            _budgeted_modes(found),
        ),
        "disturbances": None
        if room is None
        else disturbance_data(analyse_disturbances(design, found.body, hearing, found.loop, room)),
    }


def _budgeted_modes(found: Analysis) -> NDArray[np.int64]:
    """Those that the loop treats, else the lowest."""
    treated = found.loop.regulators.modes
    return treated if len(treated) else np.arange(min(_UNTREATED, found.shown_modes))


def electronics_tables(found: Data) -> tuple[TextTable, ...]:
    """What `report_electronics` gave, as tables to read."""
    disturbances = found["disturbances"]
    return (
        *(table for pickup in found["pickups"] for table in pickup_tables(pickup)),
        recovery_table(found["after_a_strike"]),
        *latency_tables(found["latency"]),
        *(() if disturbances is None else disturbance_tables(disturbances)),
    )
