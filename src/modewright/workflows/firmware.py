"""The controller of a design as source for a microcontroller."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.chain.firmware import firmware_of
from modewright.chain.places import located_faults
from modewright.errors import ModewrightError
from modewright.firmware.replay import Replayed, found_compiler, replay
from modewright.modes.solid import Accuracy
from modewright.report.firmware_data import firmware_data, firmware_tables
from modewright.report.tables import origin
from modewright.workflows.analysis import warning_texts, with_loop
from modewright.workflows.files import check_folder, made_folder, write_text

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

__all__ = ["Accuracy", "firmware_tables", "write_firmware"]


def write_firmware(
    design: Path,
    folder: Path | None,
    *,
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Write the controller of a design file, once a replay agrees with the simulation.

    Parameters
    ----------
    design : Path
        Design file.
    folder : Path or None
        Made if it is not there; files of the same names are replaced. None only tries it.
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    dict
        Needs and rounding, ``replay`` (None where no compiler was found), ``files``, ``warnings``.

    Raises
    ------
    LoopError
        If the design has no loop, or an unstable one.
    ModewrightError
        If the compiled controller does not do what the simulation did, or anything else of it
        cannot be; nothing is written then.
    """
    if folder is not None:
        check_folder(folder)
    found = with_loop(design, accuracy=accuracy, progress=progress)
    if progress is not None:
        progress("controller")
    with located_faults(found.loaded):
        firmware = firmware_of(
            found.placed.design, found.body, found.hearing, found.loop, found.loaded.design_hash
        )
    replayed = _replayed(firmware.files)
    if folder is not None:
        made_folder(folder)
        for name, text in firmware.files.items():
            write_text(folder / name, text)
    return {
        **origin(found.loaded.design_hash, accuracy),
        "name": found.placed.design.design.name,
        **firmware_data(firmware, found.loop, replayed),
        "files": [] if folder is None else list(firmware.files),
        "warnings": warning_texts(found.loaded, found.placed),
    }


def _replayed(files: Mapping[str, str]) -> Replayed | None:
    compiler = found_compiler()
    if compiler is None:
        return None
    replayed = replay(files, compiler)
    if not replayed.is_equal:
        raise ModewrightError(
            "firmware: expected the compiled controller to repeat the simulation to the bit, got "
            f"from {replayed.compiler}: {replayed.told}",
            hint="Please report this design and compiler: it should not happen.",
        )
    return replayed
