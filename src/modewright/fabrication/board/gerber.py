"""Write a board as Gerber layers. The door to the Gerber library, which is not typed.

Coordinates are millimetres with six digits behind the point. Arcs are cut into straight pieces of
the same area, since readers disagree about arcs. Copper with a hole in it is written as pieces
without holes that overlap a little, so that nothing hangs on the order of dark and clear.
"""

# pyright: reportMissingTypeStubs=false, reportUnknownMemberType=false
# pyright: reportUnknownVariableType=false, reportUnknownArgumentType=false

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from gerber_writer import Circle, DataLayer, Path
from shapely import Polygon, box

from modewright.fabrication.board.model import parts_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.fabrication.board.model import Board, Copper, Hole, Side

__all__ = ["board_gerbers"]

_LAYERS: tuple[tuple[Side, str, str], ...] = (
    ("top", "Copper,L1,Top", "Soldermask,Top"),
    ("bottom", "Copper,L2,Bot", "Soldermask,Bot"),
)
_FUNCTIONS = {
    "plate": "Conductor",
    "guard": "Conductor",
    "lead": "Conductor",
    "via": "ViaPad",
    "pin": "ComponentPad",
    "fiducial": "FiducialPad,Local",
    "coupon": "TestPad",
}
_EDGE_MM = 0.1
_OVERLAP_M = 1e-5
_NANO = 1e6
_FAR_M = 10.0


def board_gerbers(board: Board) -> dict[str, str]:
    """Text of every layer of a board.

    Parameters
    ----------
    board : Board
        With all rules kept.

    Returns
    -------
    dict of str to str
        File name and text: copper and mask of both faces, edge, lined and bare holes. Files of
        holes show each as a round pad of the finished diameter.
    """
    texts: dict[str, str] = {}
    for side, copper_function, mask_function in _LAYERS:
        layer = DataLayer(copper_function, negative=False)
        for copper in board.on(side):
            _add_copper(layer, copper)
        texts[f"{board.name}_copper_{side}.gbr"] = _text(layer)
        mask = DataLayer(mask_function, negative=True)
        for opening in board.openings.get(side, ()):
            _add_area(mask, opening, "")
        texts[f"{board.name}_mask_{side}.gbr"] = _text(mask)
    edge = DataLayer("Profile,NP", negative=False)
    edge.add_traces_path(_ring_path(board.outline), _EDGE_MM, "Profile")
    texts[f"{board.name}_edge.gbr"] = _text(edge)
    lined = [hole for hole in board.holes if hole.net is not None]
    bare = [hole for hole in board.holes if hole.net is None]
    texts[f"{board.name}_holes_lined.gbr"] = _holes(lined, "Plated,1,2,PTH")
    texts[f"{board.name}_holes_bare.gbr"] = _holes(bare, "NonPlated,1,2,NPTH")
    return texts


def _text(layer: DataLayer) -> str:
    """Text of a layer without the time of day, so that the same design gives the same file."""
    lines = str(layer.dumps_gerber()).splitlines()
    return "\n".join(line for line in lines if "TF.CreationDate" not in line) + "\n"


def _holes(holes: Iterable[Hole], function: str) -> str:
    layer = DataLayer(function, negative=False)
    for hole in holes:
        kind = {
            "via": "ViaDrill,Filled",
            "pin": "ComponentDrill",
            "screw": "MechanicalDrill",
            "vent": "MechanicalDrill",
        }
        pad = Circle(_rounded(hole.disc.diameter_m), kind[hole.kind])
        layer.add_pad(pad, _place(*hole.disc.centre_m))
    return _text(layer)


def _add_copper(layer: DataLayer, copper: Copper) -> None:
    function = _FUNCTIONS[copper.role]
    if copper.disc is not None:
        pad = Circle(_rounded(copper.disc.diameter_m), function)
        layer.add_pad(pad, _place(*copper.disc.centre_m))
    else:
        _add_area(layer, copper.area, function)


def _add_area(layer: DataLayer, area: Polygon, function: str) -> None:
    for part in _without_holes(area):
        layer.add_region(_ring_path(part), function)


def _without_holes(area: Polygon) -> list[Polygon]:
    """Pieces without holes, cut through the middle of a hole and overlapping a little."""
    if not area.interiors:
        return [area]
    cut = Polygon(area.interiors[0]).centroid.x
    halves = (
        box(-_FAR_M, -_FAR_M, cut + _OVERLAP_M, _FAR_M),
        box(cut - _OVERLAP_M, -_FAR_M, _FAR_M, _FAR_M),
    )
    return [
        piece
        for half in halves
        for part in parts_of(area.intersection(half))
        for piece in _without_holes(part)
    ]


def _ring_path(area: Polygon) -> Path:
    corners = [_place(x, y) for x, y in area.exterior.coords]
    path = Path()
    path.moveto(corners[0])
    for corner in corners[1:]:
        path.lineto(corner)
    return path


def _rounded(length_m: float) -> float:
    """Millimetres to the nanometre."""
    return round(length_m * 1e3 * _NANO) / _NANO


def _place(x_m: float, y_m: float) -> tuple[float, float]:
    """Millimetres that the library, which cuts off, turns into the nearest whole nanometre."""
    return _whole(x_m), _whole(y_m)


def _whole(length_m: float) -> float:
    nano = round(length_m * 1e3 * _NANO)
    return math.copysign((abs(nano) + 0.25) / _NANO, nano) if nano else 0.0
