"""Test coupon: two combs that show insulation, and a track that shows how far etching went."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely import Polygon, box
from shapely.ops import unary_union

from modewright.fabrication.board.model import Copper, Net

if TYPE_CHECKING:
    from modewright.fabrication.board.settings import BoardSettings

__all__ = ["Coupon", "lay_coupon"]

_TEETH = 3
_TOOTH_M = 3.0e-3
_PAD_M = 1.5e-3
_SPINE_M = 0.4e-3
_LEAST_TOOTH_M = 0.2e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coupon:
    """The test coupon.

    Parameters
    ----------
    copper : tuple of Copper
    pads : tuple of Polygon
        Where probes are set; the mask is left out there. [m]
    size_m : tuple of two floats
        Width and height. [m]
    """

    copper: tuple[Copper, ...]
    pads: tuple[Polygon, ...]
    size_m: tuple[float, float]


def lay_coupon(corner_m: tuple[float, float], space_m: float, settings: BoardSettings) -> Coupon:
    """Lay the coupon.

    Parameters
    ----------
    corner_m : tuple of two floats
        Lower left corner. [m]
    space_m : float
        Between the combs: the clearance for the highest bias of the board. [m]
    settings : BoardSettings

    Returns
    -------
    Coupon
    """
    x, y = corner_m
    tooth_m = max(settings.smallest_track_m, _LEAST_TOOTH_M)
    step_m = tooth_m + space_m
    height_m = (2 * _TEETH - 1) * step_m + tooth_m
    left_x, right_x = x + _PAD_M, x + _PAD_M + 2 * _SPINE_M + space_m + _TOOTH_M
    spines = (
        box(left_x, y, left_x + _SPINE_M, y + height_m),
        box(right_x - _SPINE_M, y, right_x, y + height_m),
    )
    combs: list[list[Polygon]] = [[spines[0]], [spines[1]]]
    for number in range(2 * _TEETH):
        low = y + number * step_m
        is_right = number % 2
        start = left_x + _SPINE_M + (space_m if is_right else 0.0)
        combs[is_right].append(box(start, low, start + _TOOTH_M, low + tooth_m))
    middle = y + height_m / 2
    pads = [
        _pad(left_x - _PAD_M / 2, middle),
        _pad(right_x + _PAD_M / 2, middle),
    ]
    track_x = right_x + _PAD_M + max(space_m, settings.smallest_space_m) + _PAD_M / 2
    half_m = settings.lead_width_m / 2
    track = box(track_x - half_m, y, track_x + half_m, y + height_m)
    ends = [_pad(track_x, y + _PAD_M / 2), _pad(track_x, y + height_m - _PAD_M / 2)]
    areas = (
        ("coupon comb a", unary_union([*combs[0], pads[0]])),
        ("coupon comb b", unary_union([*combs[1], pads[1]])),
        ("coupon track", unary_union([track, *ends])),
    )
    return Coupon(
        copper=tuple(_copper(name, area) for name, area in areas),
        pads=(*pads, *ends),
        size_m=(track_x + _PAD_M / 2 - x, height_m),
    )


def _pad(x_m: float, y_m: float) -> Polygon:
    half_m = _PAD_M / 2
    return box(x_m - half_m, y_m - half_m, x_m + half_m, y_m + half_m)


def _copper(name: str, area: object) -> Copper:
    if not isinstance(area, Polygon):
        raise TypeError(f"{name}: expected one piece of copper, got {type(area).__name__}")
    net = Net(name=name, owner=name, voltage_v=0.0)
    return Copper(net=net, role="coupon", side="top", area=area)
