"""Rings into which the sections of a stepped rod are divided, so that they fit at every step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.geometry.solid_shape import TurnedRod

__all__ = ["RodRings", "rings_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RodRings:
    """Stretches of a rod and their rings.

    Parameters
    ----------
    places_m : float array, shape (stretches + 1,)
        Where they begin and end. [m]
    counts : tuple of int
        Rings of each stretch.
    radii_m : tuple of float arrays, shape (2, rings)
        Outer radius of every ring at both ends of each stretch, rising. [m]
    """

    places_m: NDArray[np.float64]
    counts: tuple[int, ...]
    radii_m: tuple[NDArray[np.float64], ...]

    def widest_m(self, place: int) -> float:
        """Largest radius at a place. [m]"""
        sides = [self.radii_m[n][e, -1] for n, e in ((place - 1, 1), (place, 0))
                 if 0 <= n < len(self.counts)]  # fmt: skip
        return float(max(sides))


def rings_of(rod: TurnedRod) -> RodRings:
    """Rings of a rod: as few as allow the smaller side of each step to fit on rings of the larger.

    Parameters
    ----------
    rod : TurnedRod

    Returns
    -------
    RodRings
    """
    places, ends = _stretches(rod)
    counts = _counts(ends)
    radii = tuple(
        np.stack(
            [
                _radii(ends, counts, number, number - 1, 0),
                _radii(ends, counts, number, number + 1, 1),
            ]
        )
        for number in range(len(counts))
    )
    return RodRings(places_m=places, counts=tuple(counts), radii_m=radii)


def _stretches(rod: TurnedRod) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places between stretches, and both radii of every stretch."""
    run = np.nonzero(np.diff(rod.places_m) > 0)[0]
    places = np.append(rod.places_m[run], rod.places_m[-1])
    return places, np.stack([rod.radii_m[run], rod.radii_m[run + 1]], axis=1)


def _counts(ends: NDArray[np.float64]) -> list[int]:
    counts = [1] * len(ends)
    for _ in ends:
        for left in range(len(ends) - 1):
            right = left + 1
            before, after = ends[left, 1], ends[right, 0]
            if before >= after:
                counts[left] = max(counts[left], counts[right] + int(before > after))
            if after >= before:
                counts[right] = max(counts[right], counts[left] + int(after > before))
    return counts


def _radii(
    ends: NDArray[np.float64], counts: list[int], number: int, other: int, end: int
) -> NDArray[np.float64]:
    """Radii of the rings at one end, next to another stretch."""
    count, radius = counts[number], float(ends[number, end])
    if not 0 <= other < len(counts) or ends[other, 1 - end] >= radius:
        return radius * np.arange(1, count + 1) / count
    fits, less = counts[other], float(ends[other, 1 - end])
    rest = less + (radius - less) * np.arange(1, count - fits + 1) / (count - fits)
    return np.concatenate([less * np.arange(1, fits + 1) / fits, rest])
