"""Heights of the two faces of a body at the nodes of the plane."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from modewright.geometry.relief import Relief
    from modewright.modes.plane_space import PlaneSpace

__all__ = ["Faces", "faces_at_nodes"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Faces:
    """Faces as functions of the plane space, given by their values at its nodes.

    Parameters
    ----------
    bottom_m, top_m : float arrays, shape (nodes,)
        Heights of the lower and the upper face. [m]
    tilting : tuple of int
        Which of the two (0 lower, 1 upper) are not level everywhere.
    """

    bottom_m: NDArray[np.float64]
    top_m: NDArray[np.float64]
    tilting: tuple[int, ...]


def faces_at_nodes(space: PlaneSpace, relief: Relief, thickness_m: float) -> Faces:
    """Faces of stock of this thickness after the relief is cut. [m]"""
    bottom_m, top_m = relief.faces_m(space.nodes_m[:, 0], thickness_m)
    sides = {curve.side for curve in relief.curves}
    tilting = tuple(face for face, side in enumerate(("bottom", "top")) if side in sides)
    return Faces(bottom_m=bottom_m, top_m=top_m, tilting=tilting)
