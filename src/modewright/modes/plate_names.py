"""Names for the modes of plates: rectangles by their node lines, discs by diameters and circles."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from modewright.modes.beam_shapes import plate_factors
from modewright.modes.strip_names import MIXED_SHARE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.modes.plan_view import PlanView
    from modewright.modes.sheet_shapes import SheetShapes

__all__ = ["disc_names", "is_rectangle", "is_round", "rectangle_names"]

_FILLS_BOX = 0.95
_ROUND = 0.8
_GRID = 24
_LINES = 8
_RINGS = 20
_SPOKES = 48
_DIAMETERS = 10
_FEWEST_RINGS = 6
# A side counts as held from this share of its length.
_HELD_SIDE = 0.5
# From this share on, the second strongest product of a plate's shape is part of its name.
_COMBINED_SHARE = 0.25
_COMBINED_SUM = 0.75
# A lobe of a radial profile lower than this, measured by the highest, is no lobe.
_LOBE = 0.05


def is_rectangle(plan: PlanView) -> bool:
    """Whether the sheet, holes filled, is a rectangle but for its corners."""
    return plan.filled.area > _FILLS_BOX * plan.length_m * plan.width_m


def is_round(plan: PlanView) -> bool:
    """Whether the sheet, holes filled, is a disc or a regular polygon of five sides or more."""
    centre, ring = plan.filled.centroid, plan.filled.exterior
    away = shapely.get_coordinates(ring) - shapely.get_coordinates(centre)
    farthest = float(np.hypot(away[:, 0], away[:, 1]).max())
    return plan.filled.contains(centre) and ring.distance(centre) > _ROUND * farthest


def rectangle_names(plan: PlanView, shapes: SheetShapes) -> list[str]:
    """Names of the modes of a rectangular plate.

    Parameters
    ----------
    plan : PlanView
    shapes : SheetShapes

    Returns
    -------
    list of str
        From the products of beam shapes that make up each mode; not yet distinct. The two ways in
        which such products combine in square plates: Fletcher and Rossing, The Physics of Musical
        Instruments, 2nd ed. 1998, sec. 3.6 (from memory).
    """
    middle = (np.arange(_GRID) + 0.5) / _GRID
    x, y = np.meshgrid(middle, middle, indexing="ij")
    places = np.stack([x.ravel() * plan.length_m, y.ravel() * plan.width_m], axis=1)
    keep = plan.is_on_sheet(places)
    moved = plan.motion(shapes, places[keep])
    along, across = (
        plate_factors(middle, _LINES, held=_held_sides(plan, axis, size))
        for axis, size in enumerate((plan.length_m, plan.width_m))
    )
    products = np.kron(along, across)[keep]
    weights = np.asarray(np.linalg.lstsq(products, moved[:, 2], rcond=None)[0], dtype=np.float64)
    is_flat = _moves_in_plane(moved)
    # In the plane there may be no normal motion at all.
    shares = weights**2 / np.where(is_flat, 1.0, (moved[:, 2] ** 2).mean(axis=0))
    names: list[str] = []
    for mode in range(shapes.mode_count):
        if is_flat[mode]:
            names.append(f"in-plane {int(is_flat[: mode + 1].sum())}")
        else:
            names.append(_product_name(weights[:, mode], shares[:, mode]))
    return names


def _moves_in_plane(moved: NDArray[np.float64]) -> NDArray[np.bool_]:
    square = (moved**2).mean(axis=0)
    return square[:2].sum(axis=0) > square[2]


def _held_sides(plan: PlanView, axis: int, size_m: float) -> tuple[bool, bool]:
    start, end = (plan.held_share(axis, place) > _HELD_SIDE for place in (0.0, size_m))
    return start, end


def _product_name(weights: NDArray[np.float64], shares: NDArray[np.float64]) -> str:
    order = np.argsort(shares)[::-1]
    first, second = int(order[0]), int(order[1])
    if shares[second] < _COMBINED_SHARE:
        return f"plate {_lines(first)}"
    if shares[first] + shares[second] < _COMBINED_SUM:
        return f"plate {_lines(first)}, mixed"
    # The one with more lines along comes first, so that equal shares keep their order.
    first, second = max(first, second), min(first, second)
    sign = "+" if weights[first] * weights[second] > 0 else "-"
    return f"plate {_lines(first)}{sign}{_lines(second)}"


def _lines(product: int) -> str:
    return f"({product // _LINES},{product % _LINES})"


def disc_names(plan: PlanView, shapes: SheetShapes) -> list[str]:
    """Names of the modes of a disc or a regular polygon.

    Parameters
    ----------
    plan : PlanView
    shapes : SheetShapes

    Returns
    -------
    list of str
        From the parts of the normal motion that go round as cosines, on circles that lie wholly on
        metal; not yet distinct.
    """
    centre = shapely.get_coordinates(plan.filled.centroid)[0]
    reach = plan.filled.exterior.distance(plan.filled.centroid)
    radius = reach * (np.arange(_RINGS) + 0.5) / _RINGS
    turn = 2 * np.pi * np.arange(_SPOKES) / _SPOKES
    places = centre + radius[:, None, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    is_whole = plan.is_on_sheet(places).all(axis=1)
    if is_whole.sum() < _FEWEST_RINGS:
        return [f"mode {i + 1}" for i in range(shapes.mode_count)]
    radius, places = radius[is_whole], places[is_whole]
    flat = plan.motion(shapes, places.reshape(-1, 2))
    moved = flat.reshape(len(radius), _SPOKES, 3, -1)
    area = np.repeat(np.sqrt(radius), _SPOKES)
    is_flat = _moves_in_plane(area[:, None, None] * flat)
    parts = np.fft.rfft(moved[:, :, 2], axis=1)[:, :_DIAMETERS]
    energy = np.einsum("r,rdm->dm", radius, np.abs(parts) ** 2)
    energy[1:] *= 2
    shares = energy / np.where(is_flat, 1.0, energy.sum(axis=0))
    names: list[str] = []
    for mode in range(shapes.mode_count):
        if is_flat[mode]:
            names.append(f"in-plane {int(is_flat[: mode + 1].sum())}")
            continue
        diameters = int(np.argmax(shares[:, mode]))
        circles = _circles(parts[:, diameters, mode])
        is_mixed = np.sort(shares[:, mode])[-2] > MIXED_SHARE
        names.append(f"disc ({diameters},{circles}){', mixed' if is_mixed else ''}")
    return names


def _circles(profile: NDArray[np.complex128]) -> int:
    """Changes of sign along the radius, small lobes left out."""
    both = np.stack([profile.real, profile.imag], axis=1)
    direction = np.linalg.svd(both, full_matrices=False)[2][0]
    course = both @ direction
    clear = course[np.abs(course) > _LOBE * np.abs(course).max()]
    return int((np.diff(np.sign(clear)) != 0).sum())
