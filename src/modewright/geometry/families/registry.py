"""The families there are. A new one is its own file and one line here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.geometry.families.bar import Bar
from modewright.geometry.families.disc import Disc
from modewright.geometry.families.drawn import DrawnOutline
from modewright.geometry.families.flat_bell import FlatBell
from modewright.geometry.families.forked_reed import ForkedReed
from modewright.geometry.families.plate import Plate
from modewright.geometry.families.polygon_plate import PolygonPlate
from modewright.geometry.families.reed_fan import ReedFan
from modewright.geometry.families.rod import Rod
from modewright.geometry.families.step_solid import StepSolid
from modewright.geometry.families.stepped_strip import SteppedStrip
from modewright.geometry.families.strip_reed import StripReed
from modewright.geometry.families.tuning_fork import TuningFork

if TYPE_CHECKING:
    from modewright.geometry.sketch import Family

__all__ = ["FAMILIES"]

FAMILIES: tuple[type[Family], ...] = (
    StripReed,
    ForkedReed,
    SteppedStrip,
    ReedFan,
    TuningFork,
    Bar,
    Plate,
    PolygonPlate,
    Disc,
    FlatBell,
    Rod,
    DrawnOutline,
    StepSolid,
)
