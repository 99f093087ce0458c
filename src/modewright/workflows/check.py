"""Check a design file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from modewright.chain.places import check_places
from modewright.design.hash import SHORT_DIGITS
from modewright.design.load import load_design
from modewright.design.show import complete_text

if TYPE_CHECKING:
    import pathlib

    from modewright.errors import Problem

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
    warnings : tuple of Problem
        Values that look odd but may be meant.
    """

    complete_text: str
    short_hash: str
    warnings: tuple[Problem, ...]


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
    check_places(loaded)
    return CheckedDesign(
        complete_text=complete_text(loaded.design, loaded.written),
        short_hash=loaded.design_hash[:SHORT_DIGITS],
        warnings=loaded.warnings,
    )
