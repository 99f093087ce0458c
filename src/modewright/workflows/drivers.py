"""Which driver for this note: a design in, a table of drivers out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from modewright.chain.driver_choice import choose_driver
from modewright.chain.places import located_faults
from modewright.design.driver_choice_settings import DriverChoiceSettings
from modewright.design.driver_choices import load_driver_choices
from modewright.design.load import load_design
from modewright.errors import TransducerError
from modewright.modes.solid import Accuracy
from modewright.report.driver_choice_data import driver_choice_data, driver_choice_tables
from modewright.report.tables import origin
from modewright.workflows.amounts import positive_amount

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from modewright.design.load import LoadedDesign

__all__ = ["Accuracy", "compare_drivers", "driver_choice_tables", "report_drivers"]


def report_drivers(
    path: Path,
    *,
    others: Sequence[Path] = (),
    mode: str | None = None,
    level: str | None = None,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Compare drivers on one mode of a design as plain data.

    Parameters
    ----------
    path : Path
        Design file.
    others : sequence of Path
        Files with further ``[[drivers]]``, besides those of ``[driver_choice]``.
    mode, level : str, optional
        Number or label of the mode, and amplitude at the reference point with its unit; those of
        ``[driver_choice]`` if not given.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        ``mode`` and ``drivers``: what each can do and what it does to the mode, or why not.

    Raises
    ------
    ModewrightError
        If the design or a file of drivers is at fault, or there is nothing to compare.
    """
    level_m = None if level is None else positive_amount("level", level, "m", "10 um")
    loaded = load_design(path)
    settings = loaded.design.driver_choice or DriverChoiceSettings()
    if mode is not None:
        settings = replace(settings, mode=int(mode) if mode.isdecimal() else mode)
    if level_m is not None:
        settings = replace(settings, level_m=level_m)
    found = compare_drivers(loaded, settings, others, accuracy=accuracy, progress=progress)
    return {**found, "warnings": [str(warning) for warning in loaded.warnings]}


def compare_drivers(
    loaded: LoadedDesign,
    settings: DriverChoiceSettings,
    others: Sequence[Path] = (),
    *,
    accuracy: Accuracy,
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Compare the drivers of a design and of files.

    Parameters
    ----------
    loaded : LoadedDesign
    settings : DriverChoiceSettings
    others : sequence of Path
        Files besides those of the settings.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        As `report_drivers`, without ``warnings``.

    Raises
    ------
    ModewrightError
        As `report_drivers`.
    """
    own = loaded.design.electronics.amplifier
    candidates = [(driver, own) for driver in loaded.design.drivers]
    for other in (*(loaded.folder / name for name in settings.files), *others):
        choices = load_driver_choices(other)
        amplifier = own if choices.amplifier is None else choices.amplifier
        candidates += [(driver, amplifier) for driver in choices.drivers]
    if not candidates:
        raise TransducerError(
            f"{loaded.file}: drivers: expected at least one, got none.",
            hint="Add [[drivers]] to the design, or name a file of them.",
        )
    with located_faults(loaded):
        choice = choose_driver(
            loaded.design,
            loaded.folder,
            candidates,
            mode=settings.mode,
            level_m=settings.level_m,
            accuracy=accuracy,
            progress=progress,
        )
    return {
        "name": loaded.design.design.name,
        **origin(loaded.design_hash, accuracy),
        **driver_choice_data(choice),
    }
