"""What is to be tuned: a design, its free dimensions, and how bodies of it come about."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from modewright.chain.places import place_design
from modewright.design.free_dimensions import with_position
from modewright.tune.targets import Decay

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from modewright.chain.places import PlacedDesign
    from modewright.design.free_dimensions import Dimension
    from modewright.design.schema import Design
    from modewright.tune.settings import TuneSettings

__all__ = ["TuneTask"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TuneTask:
    """A design to be tuned.

    Parameters
    ----------
    design : Design
        As it is.
    folder : Path
        Folder of the design file.
    settings : TuneSettings
    dimensions : tuple of Dimension
    progress : callable
        Told of every body that is looked at.
    """

    design: Design
    folder: Path
    settings: TuneSettings
    dimensions: tuple[Dimension, ...]
    progress: Callable[[str], None]

    @property
    def bare_design(self) -> Design:
        """The design as it is, without the section that asks for others."""
        return replace(self.design, tune=None)

    @property
    def placed(self) -> PlacedDesign:
        """The design as it is, everything on its place.

        Raises
        ------
        ModewrightError
            If no body comes of it.
        """
        return place_design(self.bare_design, self.folder)

    def placed_at(self, position: NDArray[np.float64]) -> PlacedDesign:
        """The design at a position of the ranges, everything on its place.

        Raises
        ------
        ModewrightError
            If no body comes of it.
        """
        return place_design(self._at(position), self.folder)

    def design_at(self, position: NDArray[np.float64]) -> Design:
        """The design at a position of the ranges."""
        return replace(self._at(position), tune=self.design.tune)

    def _at(self, position: NDArray[np.float64]) -> Design:
        # Without the section that has done its work, a design is judged much faster.
        return with_position(self.bare_design, self.dimensions, position)

    def values_text(self, position: NDArray[np.float64]) -> str:
        """Values of the free dimensions at a position, for the reader."""
        pairs = zip(self.dimensions, position, strict=True)
        return ", ".join(
            f"{dimension.short_name} {dimension.text(dimension.at(float(share)))}"
            for dimension, share in pairs
        )

    @property
    def is_biased(self) -> bool:
        """Whether the frequencies meant are those in air with bias and magnets acting."""
        if self.settings.sounding == "auto":
            return bool(self.design.pickups or self.design.drivers)
        return self.settings.sounding == "as it sounds"

    @property
    def wants_decay(self) -> bool:
        """Whether any target is about decay, whose slopes cost further solutions."""
        return any(isinstance(target, Decay) for target in self.settings.targets)

    @property
    def wants_sizes(self) -> bool:
        """Whether any size of the outline is limited."""
        limits = self.settings.limits
        bounds = (
            limits.narrowest_metal_m, limits.narrowest_slot_m, limits.smallest_radius_m,
            limits.stock_length_m, limits.stock_width_m,
        )  # fmt: skip
        return any(bound is not None for bound in bounds)
