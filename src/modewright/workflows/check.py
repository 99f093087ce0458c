"""Check a design file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.chain.places import PlacedDesign, check_places
from modewright.design.hash import SHORT_DIGITS
from modewright.design.load import load_design
from modewright.design.show import complete_text
from modewright.errors import DesignError, Problem, Remark, TransducerError
from modewright.materials.choice import chosen_material
from modewright.transducers.driver import Choosy

if TYPE_CHECKING:
    import pathlib

    from modewright.design.load import LoadedDesign

__all__ = ["CheckedDesign", "check_design"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedDesign:
    """What a check found.

    Parameters
    ----------
    complete_text : str
        The design with defaults filled in and marked; itself a valid design file.
    short_hash : str
        First digits of the content hash.
    warnings : tuple of Problem or Remark
        Values that look odd but may be meant.
    """

    complete_text: str
    short_hash: str
    warnings: tuple[Problem | Remark, ...]


def check_design(path: str | pathlib.Path) -> CheckedDesign:
    """Read a design file and write it out complete.

    Parameters
    ----------
    path : str or path
        Design file.

    Returns
    -------
    CheckedDesign

    Raises
    ------
    DesignError
        With every problem of the file, or everything that does not fit on the sheet.
    """
    loaded = load_design(path)
    # Whether a body comes of it, with everything in place, cannot be seen from the values alone.
    placed = check_places(loaded)
    _check_sheets(loaded, placed)
    return CheckedDesign(
        complete_text=complete_text(loaded.design, loaded.written),
        short_hash=loaded.design_hash[:SHORT_DIGITS],
        warnings=(*loaded.warnings, *placed.remarks),
    )


def _check_sheets(loaded: LoadedDesign, placed: PlacedDesign) -> None:
    """Refuse drivers that cannot act on this sheet, all at once."""
    magnetism = chosen_material(placed.design.material).magnetism
    faults: list[Remark] = []
    for number, driver in enumerate(placed.design.drivers, 1):
        if not isinstance(driver, Choosy):
            continue
        try:
            driver.check_sheet(magnetism)
        except TransducerError as error:
            key = ".".join(filter(None, (f"drivers[{number}]", error.key)))
            faults.append(loaded.located(Remark(key=key, text=str(error))))
    if faults:
        raise DesignError(faults)
