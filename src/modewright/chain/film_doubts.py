"""Gaps and holes for which the air film is not what the loss model takes it for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from modewright.errors import Remark
from modewright.geometry.planar import loop_polygon

if TYPE_CHECKING:
    from collections.abc import Iterator

    from modewright.transducers.capacitive_pickup import CapacitivePickup
    from modewright.transducers.perforation import Perforation

__all__ = ["film_doubts", "shorter_side_m"]

# Where the film equation, the cells of its holes, and what holes leave of the field hold.
_WIDEST_FILM, _FEWEST_HOLES, _MOST_OPEN = 1 / 3, 4, 0.45


def film_doubts(pickups: tuple[CapacitivePickup, ...]) -> Iterator[Remark]:
    """Tell where the models of film and holes do not hold.

    Parameters
    ----------
    pickups : tuple of CapacitivePickup
        In their places.

    Yields
    ------
    Remark
        With the key of the design file.
    """
    for number, pickup in enumerate(pickups, 1):
        key, side_m = f"pickups[{number}]", shorter_side_m(pickup)
        if pickup.gap_m > side_m * _WIDEST_FILM:
            yield Remark(
                key=f"{key}.gap",
                text=f"{pickup.name}: the loss by squeezed air holds for gaps below "
                f"{side_m * _WIDEST_FILM * 1e3:.3g} mm, a third of the plate's shorter side, got "
                f"{pickup.gap_m * 1e3:.3g} mm: take it as an order of magnitude.",
            )
        if pickup.holes is not None:
            for text in _of_holes(pickup.holes, pickup.gap_m, side_m):
                yield Remark(key=f"{key}.holes", text=f"{pickup.name}: {text}")


def _of_holes(holes: Perforation, gap_m: float, side_m: float) -> Iterator[str]:
    if holes.pitch_m * _FEWEST_HOLES > side_m:
        yield (
            f"the loss model takes holes as an even pattern, got fewer than {_FEWEST_HOLES} across "
            "the plate: it makes squeezed air take a fifth too much, or more."
        )
    if gap_m > holes.web_m:
        yield (
            f"the loss model wants webs between holes wider than the gap of {gap_m * 1e3:.3g} mm, "
            f"got {holes.web_m * 1e3:.3g} mm: it does not see how air turns into the holes."
        )
    if holes.open_share > _MOST_OPEN:
        yield (
            f"{holes.open_share:.0%} of the plate is open; above {_MOST_OPEN:.0%} capacitance is "
            "up to 1 % off, signal up to 4 %."
        )


def shorter_side_m(pickup: CapacitivePickup) -> float:
    """Shorter side of the smallest rectangle about a plate. [m]"""
    plate = loop_polygon(pickup.placed_plate.loop)
    corners = shapely.get_coordinates(shapely.oriented_envelope(plate))
    return float(np.linalg.norm(np.diff(corners[:3], axis=0), axis=1).min())
