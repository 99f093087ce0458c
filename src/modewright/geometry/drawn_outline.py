"""Which of the closed curves of a drawing is the contour, and whether the others are its holes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.errors import GeometryError
from modewright.geometry.blank import Outline
from modewright.geometry.measures import signed_area_m2
from modewright.geometry.places import place_mm
from modewright.geometry.planar import loop_polygon, self_crossing_m, shared_place_m

if TYPE_CHECKING:
    from pathlib import Path

    from shapely import Polygon

    from modewright.geometry.loop import Loop

__all__ = ["outline_from_loops"]

# Two curves whose areas differ by less than this share are one curve drawn twice.
_SAME_SHARE = 1e-4


def outline_from_loops(path: Path, loops: tuple[Loop, ...]) -> Outline:
    """Outline of a body from the closed curves of its drawing.

    Parameters
    ----------
    path : Path
        Drawing, for the messages.
    loops : tuple of Loop
        At least one, in any order and sense.

    Returns
    -------
    Outline
        The largest loop with the others as holes.

    Raises
    ------
    GeometryError
        If a loop crosses itself, two cross, one is drawn twice, one lies outside the largest, or
        one lies inside a hole. Names the coordinates in mm.
    """
    faults = [
        f"a curve that crosses itself at {place_mm(crossing)}"
        for crossing in map(self_crossing_m, loops)
        if crossing is not None
    ]
    if not faults:
        loops = tuple(sorted(loops, key=lambda loop: -abs(signed_area_m2(loop))))
        shapes = [loop_polygon(loop) for loop in loops]
        faults = [
            fault
            for j in range(len(loops))
            for i in range(j)
            if (fault := _pair_fault((loops[i], shapes[i]), (loops[j], shapes[j]), is_hole=i > 0))
        ]
    if faults:
        lines = "".join(f"\n  {fault}" for fault in faults)
        raise GeometryError(
            f"{path}: expected one contour with separate holes inside on the layer OUTLINE, got"
            f"{lines}\n",
            hint="Correct the drawing there.",
        )
    return Outline(outer=loops[0], holes=loops[1:])


def _pair_fault(
    larger: tuple[Loop, Polygon], smaller: tuple[Loop, Polygon], *, is_hole: bool
) -> str:
    """What is wrong between a curve and a smaller one; empty if nothing."""
    big, small = larger[1], smaller[1]
    if big.symmetric_difference(small).area < _SAME_SHARE * big.area:
        return f"the same curve drawn twice around {place_mm(small.centroid.coords[0])}"
    crossing = shared_place_m(larger[0], smaller[0])
    if crossing is not None:
        return f"two curves that cross or touch at {place_mm(crossing)}"
    is_inside = big.contains(small)
    if is_hole and is_inside:
        return f"a curve inside a hole around {place_mm(small.centroid.coords[0])}"
    if not is_hole and not is_inside:
        return (
            f"a curve around {place_mm(small.centroid.coords[0])} outside the largest one around "
            f"{place_mm(big.centroid.coords[0])}: which is the contour is not clear"
        )
    return ""
