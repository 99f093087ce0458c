"""What a feature adds to a blank."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Protocol

if TYPE_CHECKING:
    from modewright.geometry.bends import Bend
    from modewright.geometry.blank import AttachedMass, Pocket
    from modewright.geometry.loop import Loop
    from modewright.geometry.sketch import Sketch

__all__ = ["Feature", "FeatureParts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureParts:
    """Holes, pockets, masses and bends that one feature brings."""

    holes: tuple[Loop, ...] = ()
    pockets: tuple[Pocket, ...] = ()
    masses: tuple[AttachedMass, ...] = ()
    bends: tuple[Bend, ...] = ()


class Feature(Protocol):
    """A section of the design file that changes a blank."""

    kind: ClassVar[str]

    def parts(self, sketch: Sketch) -> FeatureParts:
        """Turn the feature into parts of a blank.

        Parameters
        ----------
        sketch : Sketch
            Outline it is applied to.

        Raises
        ------
        GeometryError
            If it refers to something that the outline does not have.
        """
        ...
