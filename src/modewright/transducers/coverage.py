"""The part of a plate that the sheet really covers.

A plate may reach under several arms and across the slots between them; only where sheet and plate
face each other is there a gap.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from modewright.errors import TransducerError
from modewright.geometry.flatten import flatten
from modewright.transducers.plate import AreaPoints, polygon_points

if TYPE_CHECKING:
    from modewright.transducers.plate import Plate

__all__ = ["area_points_of", "covered_area", "covered_points"]

_SAGITTA_M = 5e-6
# Slivers below this share of the plate carry no signal and make poor triangles.
_SLIVER_SHARE = 1e-6


def covered_area(name: str, outline: Polygon, sheet: Polygon) -> MultiPolygon:
    """Where the sheet covers a plate.

    Parameters
    ----------
    name : str
        Pickup named in the error.
    outline : Polygon
        Of the plate. [m]
    sheet : Polygon
        The sheet in plan, with its holes. [m]

    Returns
    -------
    MultiPolygon
        Without slivers.

    Raises
    ------
    TransducerError
        If the sheet covers nothing of it.
    """
    if sheet.covers(outline):
        return MultiPolygon([outline])
    pieces = [
        piece
        for piece in shapely.get_parts(outline.intersection(sheet))
        if isinstance(piece, Polygon) and piece.area > _SLIVER_SHARE * outline.area
    ]
    if not pieces:
        x_mm, y_mm = outline.centroid.x * 1e3, outline.centroid.y * 1e3
        raise TransducerError(
            f"{name}: expected a plate under the sheet, got one beside it around "
            f"({x_mm:.2f}, {y_mm:.2f}) mm.",
            hint="Move the plate under the sheet.",
        )
    return MultiPolygon(pieces)


def covered_points(name: str, plate: Plate, sheet: Polygon | None) -> AreaPoints:
    """Integration points of a plate where the sheet covers it.

    Parameters
    ----------
    name : str
        Pickup named in the error.
    plate : Plate
    sheet : Polygon or None
        The sheet in plan, with its holes; None to take the plate as covered. [m]

    Returns
    -------
    AreaPoints

    Raises
    ------
    TransducerError
        If the sheet covers nothing of it.
    """
    if sheet is None:
        return plate.area_points()
    outline = Polygon(flatten(plate.loop, _SAGITTA_M))
    if sheet.covers(outline):
        return plate.area_points()
    return area_points_of(covered_area(name, outline, sheet))


def area_points_of(area: MultiPolygon) -> AreaPoints:
    """Integration points of an area in pieces."""
    parts = [polygon_points(piece) for piece in area.geoms]
    return AreaPoints(
        points_m=np.concatenate([part.points_m for part in parts]),
        weight_m2=np.concatenate([part.weight_m2 for part in parts]),
    )
