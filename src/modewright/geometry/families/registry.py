"""The families there are. A new one is its own file and one line here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.geometry.families.drawn import DrawnOutline
from modewright.geometry.families.forked_reed import ForkedReed
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.strip_reed import StripReed

if TYPE_CHECKING:
    from modewright.geometry.sketch import Family

__all__ = ["FAMILIES"]

FAMILIES: tuple[type[Family], ...] = (
    StripReed,
    ForkedReed,
    Plate,
    DrawnOutline,
)
