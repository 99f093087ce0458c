"""Names for modes, as a person of the trade calls them, from how the sheet moves.

==================  ===============================================================================
body                names
==================  ===============================================================================
strip, bar          ``bending 2``, ``torsion 1``, ``cross bending 1``, ``lateral 1``,
                    ``extension 1``: numbered among those of their kind, from the lowest
with arms           the same for the arm that moves most, and how the arms move together: ``bending
                    1, in phase``, ``bending 1, antiphase`` (of two arms), ``bending 2, arm 3``,
                    ``bending 1, arms 1+3-2`` (1 and 3 together, 2 against them)
rectangular plate   ``plate (2,1)``: node lines crossed along the longer side and across it, held
                    edges not counted; ``plate (2,0)-(0,2)`` where two such shapes are as strong
disc, polygon       ``disc (2,0)``: nodal diameters, nodal circles without a held edge
any plate           ``in-plane 1``
anything else       ``mode 7``: corners, arcs, frames and winding strips have no names that are sure
==================  ===============================================================================

A body whose length is less than 1.6 times its width, and that has no arms, is a plate. One of whose
contour less than 0.7 is metal is a frame. ``mixed``
follows where the second strongest kind of motion is nearly as strong. A name that repeats gets the
letters b, c, ... in order of frequency. No name depends on a higher mode.
"""

from __future__ import annotations

from string import ascii_lowercase
from typing import TYPE_CHECKING

from modewright.modes.plan_view import plan_view
from modewright.modes.plate_names import disc_names, is_rectangle, is_round, rectangle_names
from modewright.modes.strip_names import arm_names, strip_names
from modewright.modes.strips import are_plain_arms, arms_of, whole_strip

if TYPE_CHECKING:
    from collections.abc import Iterable

    from modewright.modes.regions import PlaneRegions
    from modewright.modes.sheet_shapes import SheetShapes

__all__ = ["label_modes"]

_LONG = 1.6
_METAL = 0.7


def label_modes(shapes: SheetShapes, regions: PlaneRegions, *, is_held: bool) -> tuple[str, ...]:
    """Name every mode.

    Parameters
    ----------
    shapes : SheetShapes
        In rising order of frequency. Names tell what the middle plane does.
    regions : PlaneRegions
        Of the same sheet.
    is_held : bool
        Whether the body is held, softly or firmly: only then can it move as a whole.

    Returns
    -------
    tuple of str, length modes
        Plain ASCII, no two alike.
    """
    shapes = shapes.middle
    plan = plan_view(regions)
    for view in (plan, plan.turned()):
        arms = arms_of(view)
        if arms:
            if not are_plain_arms(view, arms):
                return _numbered(shapes)
            return _distinct(arm_names(view, arms, shapes, is_held=is_held))
    is_frame = plan.body.area < _METAL * plan.filled.area
    if plan.length_m >= _LONG * plan.width_m:
        if is_frame or not whole_strip(plan).is_straight:
            return _numbered(shapes)
        return _distinct(strip_names(plan, shapes, is_held=is_held))
    if is_round(plan):
        return _distinct(disc_names(plan, shapes))
    if is_rectangle(plan) and not is_frame:
        return _distinct(rectangle_names(plan, shapes))
    return _numbered(shapes)


def _numbered(shapes: SheetShapes) -> tuple[str, ...]:
    """Names that claim nothing."""
    return tuple(f"mode {i + 1}" for i in range(shapes.mode_count))


def _distinct(names: Iterable[str]) -> tuple[str, ...]:
    """The same names with a letter behind those that were there before."""
    seen: dict[str, int] = {}
    result: list[str] = []
    for name in names:
        before = seen.get(name, 0)
        seen[name] = before + 1
        mark = ascii_lowercase[before] if before < len(ascii_lowercase) else str(before + 1)
        result.append(f"{name} {mark}" if before else name)
    return tuple(result)
