"""Places all over a body at which shapes are compared, and the same places on its kin.

Bodies of one family have the same sequence of curves, so that places at the same share of the same
curve belong together whatever the sizes. A place inside goes with the curves around it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LinearRing, MultiLineString, Point

from modewright.geometry.arcs import arc_of, segments
from modewright.geometry.mean_value import mean_value_weights
from modewright.geometry.planar import loop_polygon, nearest_places_m, outline_polygon
from modewright.materials.choice import chosen_material

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely import Polygon

    from modewright.chain.places import PlacedDesign
    from modewright.geometry.blank import Blank
    from modewright.geometry.loop import Loop

__all__ = ["ModePlaces", "mode_places"]

# Enough for the twentieth mode of a plate: four to a half wave.
_PLACES = 400
_PIECES_PER_TURN = 48
_INSET_SHARE = 0.25
_OFF_RINGS_SHARE = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModePlaces:
    """Places of one body, told by the corners around them.

    Parameters
    ----------
    pieces : tuple of int arrays, one for each loop of the outline
        Into how many pieces of equal length each arc is cut; a straight line, which stays one, is
        one piece.
    weights : float array, shape (places, corners)
        Of the ends of all pieces.
    mass_kg : float array, shape (places + masses,)
        What moves with each place of the body, then the masses fixed to it. [kg]
    """

    pieces: tuple[NDArray[np.int64], ...]
    weights: NDArray[np.float64]
    mass_kg: NDArray[np.float64]

    def on(self, blank: Blank) -> NDArray[np.float64] | None:
        """The same places of another body; None if its parts are others.

        Parameters
        ----------
        blank : Blank

        Returns
        -------
        float array, shape (places + masses, 2), or None
            [m]
        """
        loops = _loops(blank)
        counts = [len(loop.bulge) for loop in loops]
        fixed = len(self.mass_kg) - len(self.weights)
        if counts != [len(pieces) for pieces in self.pieces] or len(blank.masses) != fixed:
            return None
        rings = [_ring(loop, pieces) for loop, pieces in zip(loops, self.pieces, strict=True)]
        places = self.weights @ np.concatenate(rings)
        masses = np.array([mass.centre_m for mass in blank.masses]).reshape(-1, 2)
        return _kept_inside(np.concatenate([places, masses]), _inside(blank))


def mode_places(placed: PlacedDesign) -> ModePlaces:
    """Lay places over a body, each with its share of the mass.

    Parameters
    ----------
    placed : PlacedDesign

    Returns
    -------
    ModePlaces
    """
    blank = placed.blank
    loops = _loops(blank)
    pieces = tuple(_pieces(loop) for loop in loops)
    rings = [_ring(loop, some) for loop, some in zip(loops, pieces, strict=True)]
    points, cell_m2 = _lattice(_inside(blank), rings)
    density = chosen_material(placed.design.material).solid.density_kg_per_m3
    sheet = density * cell_m2 * _thickness_m(blank, points)
    return ModePlaces(
        pieces=pieces,
        weights=mean_value_weights(rings, points),
        mass_kg=np.concatenate([sheet, np.array([mass.mass_kg for mass in blank.masses])]),
    )


def _loops(blank: Blank) -> tuple[Loop, ...]:
    return (blank.outline.outer, *blank.outline.holes)


def _pieces(loop: Loop) -> NDArray[np.int64]:
    turn = np.abs(4 * np.arctan(loop.bulge))
    return np.maximum(np.ceil(turn / (2 * np.pi) * _PIECES_PER_TURN), 1).astype(np.int64)


def _ring(loop: Loop, pieces: NDArray[np.int64]) -> NDArray[np.float64]:
    """Ends of the pieces of all curves. [m]"""
    corners: list[NDArray[np.float64]] = []
    for (start, end, bulge), count in zip(segments(loop), pieces.tolist(), strict=True):
        if bulge == 0:
            corners.append(start[None, :])
        else:
            arc = arc_of(start, end, bulge)
            corners.append(np.array([arc.at(number / count) for number in range(count)]))
    return np.concatenate(corners)


def _inside(blank: Blank) -> Polygon:
    # A mesh need not reach as far as the curve it stands for.
    return outline_polygon(blank.outline).buffer(-_INSET_SHARE * blank.thickness_m)


def _lattice(
    inside: Polygon, rings: list[NDArray[np.float64]]
) -> tuple[NDArray[np.float64], float]:
    """Middles of the cells of a square lattice, and the area of a cell. [m], [m²]"""
    low_x, low_y, high_x, high_y = inside.bounds
    pitch = float(np.sqrt(inside.area / _PLACES))
    across, along = (max(1, round(s / pitch)) for s in (high_x - low_x, high_y - low_y))
    side_x, side_y = (high_x - low_x) / across, (high_y - low_y) / along
    column, row = np.divmod(np.arange(across * along), along)
    points = np.stack([low_x + side_x * (column + 0.5), low_y + side_y * (row + 0.5)], axis=1)
    edges = MultiLineString([LinearRing(ring) for ring in rings])
    is_near = shapely.dwithin(edges, shapely.points(points), _OFF_RINGS_SHARE * pitch)
    is_inside = shapely.contains_xy(inside, points[:, 0], points[:, 1])
    return points[is_inside & ~is_near], side_x * side_y


def _thickness_m(blank: Blank, points: NDArray[np.float64]) -> NDArray[np.float64]:
    lower, upper = blank.faces_m(points)
    thickness = upper - lower
    for pocket in blank.pockets:
        is_thinned = shapely.contains_xy(loop_polygon(pocket.loop), points[:, 0], points[:, 1])
        thickness = np.where(is_thinned, pocket.thickness_m, thickness)
    return thickness


def _kept_inside(places: NDArray[np.float64], inside: Polygon) -> NDArray[np.float64]:
    is_off = ~shapely.contains_xy(inside, places[:, 0], places[:, 1])
    kept = places.copy()
    for number in np.nonzero(is_off)[0]:
        kept[number] = nearest_places_m(inside, Point(places[number]))[0]
    return kept
