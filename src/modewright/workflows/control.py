"""Every method of control on the task of a design: a file in, plain data out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.chain.places import located_faults
from modewright.loop.methods import compare_methods
from modewright.modes.solid import Accuracy
from modewright.report.method_data import method_data, method_tables
from modewright.report.tables import origin
from modewright.workflows.analysis import warning_texts, with_loop

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

__all__ = ["Accuracy", "method_tables", "report_methods"]


def report_methods(
    path: Path, *, accuracy: Accuracy = "normal", progress: Callable[[str], None] | None = None
) -> dict[str, Any]:
    """Methods of control side by side as plain data.

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
        ``methods``, each with margins and what it does to every treated mode; ``recommended``
        (None if none serves) and ``why``.

    Raises
    ------
    LoopError
        If the design has no loop, or treats no mode.
    """
    found = with_loop(path, accuracy=accuracy, progress=progress)
    if progress is not None:
        progress("methods")
    plant, settings = found.loop.plant, found.placed.design.loop
    with located_faults(found.loaded):
        trials = compare_methods(plant, settings)
    return {
        **origin(found.loaded.design_hash, accuracy),
        "name": found.placed.design.design.name,
        "stated": settings.method,
        **method_data(plant, settings, trials),
        "warnings": warning_texts(found.loaded, found.placed),
    }
