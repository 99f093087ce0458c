"""The ``[driver_choice]`` section: which drivers to compare, and by what."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from modewright.parameters import mode, quantity, texts

__all__ = ["DriverChoiceSettings", "files_seen_from"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverChoiceSettings:
    """What `modewright drivers` compares besides the drivers of the design."""

    files: tuple[str, ...] = texts(
        "Files of further [[drivers]], each with an [amplifier] of its own or without; paths count "
        "from the folder of the design.",
        default=(),
    )
    mode: int | str = mode(
        "Mode by which they are judged: its number or label in the body without driver.", default=1
    )
    level_m: float = quantity(
        "m",
        "Amplitude at the reference point from which they brake and at which they hold.",
        default=10e-6,
        show="um",
        above=0.0,
        plausible=(1e-8, 2e-3),
    )


def files_seen_from(
    settings: DriverChoiceSettings | None, folder: Path, there: Path
) -> dict[str, str]:
    """What to change in a design that is written into another folder, for `edited_text`.

    Parameters
    ----------
    settings : DriverChoiceSettings or None
    folder, there : Path
        Folders of the design as read and as written.

    Returns
    -------
    dict
        New paths by address.
    """
    if settings is None or folder.resolve() == there.resolve():
        return {}
    return {
        f"driver_choice.files[{number}]": os.path.relpath(folder / name, there)
        for number, name in enumerate(settings.files, 1)
        if not Path(name).is_absolute()
    }
