"""All kinds of features. A new one needs its file and its name here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.geometry.features.bend import StraightBend
from modewright.geometry.features.holes import RoundHole, SlottedHole
from modewright.geometry.features.thinned_region import ThinnedRegion
from modewright.geometry.features.tip_mass import TipMass

if TYPE_CHECKING:
    from modewright.geometry.features.parts import Feature

__all__ = ["FEATURES"]

FEATURES: tuple[type[Feature], ...] = (RoundHole, SlottedHole, TipMass, ThinnedRegion, StraightBend)
