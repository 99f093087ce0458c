"""Closed plane curves made of straight lines and circular arcs.

Every outline, hole, pocket, pickup plate and held area is a `Loop`. Arcs are kept exactly, as the
bulge of the segment that starts at a vertex (the tangent of a quarter of the included angle,
positive to the left of the chord's direction), which is also how the drawing exchange format DXF
stores them (DXF Reference, group code 42).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import check_finite, check_shape, frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Loop"]

# Arcs flatter than this (a sagitta of one billionth of half the chord) are lines: the radius of
# anything flatter overflows.
_STRAIGHT_BULGE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loop:
    """One closed curve; the last segment returns to the first vertex.

    Parameters
    ----------
    vertices_m : float array, shape (vertices, 2)
        Corners in order; either sense of turning. [m]
    bulge : float array, shape (vertices,)
        Bulge of the segment from vertex i to vertex i + 1; 0 for a straight line.
    """

    vertices_m: NDArray[np.float64]
    bulge: NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices_m", frozen_array(self.vertices_m))
        bulge = np.asarray(self.bulge, dtype=float)
        straight = np.abs(bulge) < _STRAIGHT_BULGE
        object.__setattr__(self, "bulge", frozen_array(np.where(straight, 0.0, bulge)))
        check_shape(self.vertices_m, "vertices_m", (None, 2))
        check_shape(self.bulge, "bulge", (len(self.vertices_m),))
        check_finite(self.vertices_m, "vertices_m")
        check_finite(self.bulge, "bulge")

    @classmethod
    def polygon(cls, vertices_m: object) -> Loop:
        """Loop of straight lines through these corners. [m]"""
        corners = np.asarray(vertices_m, dtype=float)
        return cls(vertices_m=corners, bulge=np.zeros(len(corners)))
