"""Lines on the layer CLAMP matched with the straight pieces of the outline that they cover."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import GeometryError
from modewright.geometry.places import place_mm

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from modewright.geometry.blank import Outline
    from modewright.geometry.chaining import Trace
    from modewright.geometry.loop import Loop

__all__ = ["held_edges"]

# A line drawn by eye onto the outline with a snap tool lies far closer than this.
ON_OUTLINE_M = 5e-6


def held_edges(path: Path, traces: Sequence[Trace], outline: Outline) -> NDArray[np.float64]:
    """Straight pieces of the outline that lie under lines.

    Parameters
    ----------
    path : Path
        Drawing, for the messages.
    traces : sequence of Trace
        Lines of the layer CLAMP; each may be longer or shorter than the piece it marks.
    outline : Outline

    Returns
    -------
    float array, shape (edges, 2, 2)
        [m]

    Raises
    ------
    GeometryError
        If a line covers no straight piece, or is curved.
    """
    pieces = np.concatenate([_straight(loop) for loop in (outline.outer, *outline.holes)])
    found: list[NDArray[np.float64]] = []
    for trace in traces:
        steps = zip(trace.vertices_m[:-1], trace.vertices_m[1:], trace.bulge, strict=True)
        for start, end, bulge in steps:
            if bulge != 0:
                raise GeometryError(
                    f"{path}: expected straight lines or closed areas on the layer CLAMP, got an "
                    f"arc from {place_mm(start)} to {place_mm(end)}.",
                    hint="Draw the held place as a closed area.",
                )
            overlaps = _overlaps(start, end, pieces)
            if not overlaps:
                raise GeometryError(
                    f"{path}: expected every line on the layer CLAMP to lie on a straight piece "
                    f"of the outline within 0.005 mm, got none under the line from "
                    f"{place_mm(start)} to {place_mm(end)}.",
                    hint="Snap it to the outline, or draw the held place as a closed area.",
                )
            found += overlaps
    return np.array(found).reshape(-1, 2, 2)


def _straight(loop: Loop) -> NDArray[np.float64]:
    ends = np.roll(loop.vertices_m, -1, axis=0)
    return np.stack([loop.vertices_m, ends], axis=1)[loop.bulge == 0]


def _overlaps(
    start: NDArray[np.float64], end: NDArray[np.float64], pieces: NDArray[np.float64]
) -> list[NDArray[np.float64]]:
    """Parts of the pieces that lie under the line from start to end."""
    found: list[NDArray[np.float64]] = []
    for first, last in pieces:
        along = last - first
        length = float(np.hypot(*along))
        unit = along / length
        low, high = sorted((float((start - first) @ unit), float((end - first) @ unit)))
        low, high = max(low, 0.0), min(high, length)
        if high - low <= ON_OUTLINE_M:
            continue
        edge = np.array([first + low * unit, first + high * unit])
        if max(_distance(point, start, end) for point in edge) <= ON_OUTLINE_M:
            # Ends as good as at a corner are the corner.
            edge[0] = first if low <= ON_OUTLINE_M else edge[0]
            edge[1] = last if length - high <= ON_OUTLINE_M else edge[1]
            found.append(edge)
    return found


def _distance(
    point: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> float:
    """From a point to the endless line through start and end. [m]"""
    along, away = end - start, point - start
    length = float(np.hypot(*along))
    return abs(float(along[0] * away[1] - along[1] * away[0])) / length if length > 0 else np.inf
