"""Areas of plates read back from the text of a copper layer, as a last check of what is sent out.

Only what such a layer consists of is understood: coordinates, straight edges of regions. Anything
else inside a region is refused rather than guessed.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from collections.abc import Iterator

    from modewright.fabrication.board.model import Board

__all__ = ["plate_areas_m2", "regions"]

_FORMAT = re.compile(r"%FSLAX\d(\d)Y\d(\d)\*%")
_STEP = re.compile(r"X(-?\d+)Y(-?\d+)D0([12])\*")
_PLAIN = ("G01*", "G04", "G37*")


def plate_areas_m2(board: Board, text: str) -> dict[str, float]:
    """Area of the copper at the place of every plate.

    Parameters
    ----------
    board : Board
    text : str
        Its upper copper layer, from `modewright.fabrication.board.gerber.board_gerbers`.

    Returns
    -------
    dict of str to float
        By the name of the pickup; zero where the layer has no copper. [m²]
    """
    areas = list(regions(text))
    found: dict[str, float] = {}
    for plate in board.plates:
        # A plate with holes is written in pieces.
        outline = loop_polygon(plate.loop)
        holding = [area for area in areas if outline.contains(area.representative_point())]
        found[plate.name] = shapely.union_all(holding).area if holding else 0.0
    return found


def regions(text: str) -> Iterator[Polygon]:
    """Regions of a Gerber layer that consists of straight edges. [m]

    Parameters
    ----------
    text : str
        In millimetres, absolute coordinates, leading zeros left out.

    Yields
    ------
    Polygon
        In the order of the file.

    Raises
    ------
    ValueError
        If the layer is not of that kind.
    """
    format_found = _FORMAT.search(text)
    if "%MOMM*%" not in text or format_found is None:
        raise ValueError("layer: expected millimetres and absolute coordinates, got others")
    step_m = 1e-3 * 10.0 ** -int(format_found.group(1))
    for body in re.findall(r"G36\*\n(.*?)G37\*", text, re.DOTALL):
        corners: list[tuple[float, float]] = []
        for line in body.splitlines():
            step = _STEP.fullmatch(line)
            if step is None:
                if not line.startswith(_PLAIN):
                    raise ValueError(f"layer: expected straight edges, got {line!r}")
                continue
            corners.append((int(step.group(1)) * step_m, int(step.group(2)) * step_m))
        yield Polygon(np.array(corners))
