"""What a loss mechanism may read, and how it is registered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    from numpy.typing import NDArray

    from modewright.losses.films import FilmCells
    from modewright.losses.held import HeldLine, Pads
    from modewright.losses.settings import LossSettings
    from modewright.losses.surface import SurfaceMotion
    from modewright.materials.air import Air
    from modewright.materials.model import Material
    from modewright.modes.basis import Modes

__all__ = ["LossBody", "Mechanism"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LossBody:
    """A body with its modes and surroundings.

    Parameters
    ----------
    modes : Modes
        Undamped, mass-normalised.
    material : Material
        At the temperature of the body.
    air : Air
        Around it.
    surface : SurfaceMotion
        How each mode moves its faces.
    held : HeldLine or None
        Where it is held; None for a free body.
    pads : Pads or None
        Soft pads that it lies on.
    films : tuple of FilmCells
        Air gaps at its faces, as drawn.
    settings : LossSettings
    """

    modes: Modes
    material: Material
    air: Air
    surface: SurfaceMotion
    held: HeldLine | None
    pads: Pads | None
    films: tuple[FilmCells, ...]
    settings: LossSettings


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mechanism:
    """One way in which a mode loses energy.

    Parameters
    ----------
    name : str
        As shown to the user.
    is_on : function of LossSettings
        Whether the design wants it counted.
    reaction : function of LossBody
        Real part: 1/Q of each mode by this mechanism alone, >= 0. Imaginary part: mass that it
        makes swing along, as a share of the modal mass; below 0 where it acts as a spring. Shape
        (modes,).
    """

    name: str
    is_on: Callable[[LossSettings], bool]
    reaction: Callable[[LossBody], NDArray[np.complex128]]
