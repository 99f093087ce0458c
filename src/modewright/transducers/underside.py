"""The face of a body over which pickups lie: its plan and how high it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from modewright.geometry.flatten import flatten
from modewright.modes.regions import sheet_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.blank import Blank, Pocket

__all__ = ["Underside", "underside_of"]

_SAGITTA_M = 5e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Underside:
    """Lower face of a body.

    Parameters
    ----------
    blank : Blank
    plan : Polygon
        The body seen from below, with its holes. [m]
    """

    blank: Blank
    plan: Polygon

    def height_m(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Height of the lower face over the lowest place of the body. [m]

        Parameters
        ----------
        points_m : float array, shape (points, 2)
            [m]
        """
        height = np.array(self.blank.faces_m(points_m)[0])
        for pocket in self.blank.pockets:
            if pocket.side == "bottom":
                height[_inside(pocket, points_m)] += self.blank.thickness_m - pocket.thickness_m
        return height

    def thickness_m(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Thickness of the body. [m]

        Parameters
        ----------
        points_m : float array, shape (points, 2)
            [m]
        """
        bottom, top = self.blank.faces_m(points_m)
        thickness = np.array(top - bottom)
        for pocket in self.blank.pockets:
            thickness[_inside(pocket, points_m)] -= self.blank.thickness_m - pocket.thickness_m
        return thickness


def _inside(pocket: Pocket, points_m: NDArray[np.float64]) -> NDArray[np.bool_]:
    edge = Polygon(flatten(pocket.loop, _SAGITTA_M))
    return shapely.contains_xy(edge, points_m[:, 0], points_m[:, 1])


def underside_of(blank: Blank) -> Underside:
    """Lower face of the body of a blank."""
    return Underside(blank=blank, plan=sheet_polygon(blank, _SAGITTA_M))
