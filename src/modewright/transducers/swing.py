"""How far each mode may swing before the sheet touches a plate or pole, or snaps onto it.

A pull that grows faster than the spring leaves a ridge in the potential energy between the position
at rest and the plate. A swing with less energy than the ridge comes back; one with more may not.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.transducers.gap import BiasedGap

__all__ = ["largest_swings"]

_STATIONS = 64
# Square root of how near to the touch the ridge is looked for; closer it is the touch, for any use.
_NEAREST = 1e-3


class _Course:
    """Force and energy of one mode along its coordinate, counted from the position at rest.

    Constant bias: a plate that keeps its charge instead pulls less when it is near.
    """

    def __init__(self, stiffness_per_s2: float, gaps: tuple[BiasedGap, ...], mode: int) -> None:
        self.stiffness = stiffness_per_s2
        self.parts = [
            (g.bias**2 / 2 * g.gap.per_m * g.gap.weight_m2, g.gap.gap_m, g.gap.opening[:, mode])
            for g in gaps
        ]
        self.ways = [(g.gap.air_m, g.gap.opening[:, mode]) for g in gaps]

    def touch(self, sign: float) -> float:
        """Coordinate, > 0, at which something touches on that side; infinite if nothing does."""
        with np.errstate(divide="ignore"):
            return min(
                float(np.min(np.where(sign * o < 0, air_m / np.abs(o), np.inf)))
                for air_m, o in self.ways
            )

    def force(self, coordinate: float) -> float:
        """Force back to rest. [m sqrt(kg)/s²]"""
        pulls = (
            np.sum(w * o * (1 / (g + o * coordinate) ** 2 - 1 / g**2)) for w, g, o in self.parts
        )
        return self.stiffness * coordinate + float(sum(pulls))

    def energy_j(self, coordinate: float) -> float:
        """Energy over that at rest. [J]"""
        # P(q) - P(0) - P'(0) q without the cancellation of its terms.
        lost = (
            np.sum(w * (o * coordinate / g) ** 2 / (g + o * coordinate)) for w, g, o in self.parts
        )
        return self.stiffness * coordinate**2 / 2 - float(sum(lost))

    def ridge(self, sign: float) -> float:
        """Coordinate, > 0, of the top of the ridge on that side, or where it touches before."""
        touch = self.touch(sign)
        if np.isinf(touch):
            return touch
        low = 0.0
        for number in range(1, _STATIONS + 1):
            high = touch * (1 - (1 - number / _STATIONS * (1 - _NEAREST)) ** 2)
            if sign * self.force(sign * high) <= 0:
                return _root(lambda s: sign * self.force(sign * s), low, high) if low else 0.0
            low = high
        return low

    def reach(self, sign: float, energy_j: float, furthest_coordinate: float) -> float:
        """Coordinate, > 0, at which a swing of that energy turns round on that side."""
        if energy_j <= 0:
            return 0.0
        if np.isfinite(furthest_coordinate):
            if self.energy_j(sign * furthest_coordinate) <= energy_j:
                return furthest_coordinate
            high = furthest_coordinate
        else:
            # Without a pull on this side the spring is never softer than at rest.
            high = math.sqrt(2 * energy_j / self.stiffness)
            while self.energy_j(sign * high) < energy_j:
                high *= 2
        return _root(lambda s: self.energy_j(sign * s) - energy_j, 0.0, high)


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    return float(brentq(function, low, high, xtol=1e-9 * high))


def largest_swings(
    stiffness_per_s2: NDArray[np.float64], gaps: tuple[BiasedGap, ...]
) -> NDArray[np.float64]:
    """Largest amplitude of each mode alone from which it comes back.

    Parameters
    ----------
    stiffness_per_s2 : float array, shape (modes,)
        Elastic stiffness of the modes, without the softening of the gaps. [1/s²]
    gaps : tuple of BiasedGap
        At the operating point, in those modes.

    Returns
    -------
    float array, shape (modes,)
        Smaller of both excursions; infinite if nothing faces the mode. [m sqrt(kg)]

    Notes
    -----
    Dynamic pull-in by the energy of a motion with one degree of freedom: it swings on if
    ``½ k s² - ½ X² (P(s) - P(0) - P'(0) s)`` stays below its top (as for a step of voltage in
    G. N. Nielson and G. Barbastathis, Dynamic pull-in of parallel-plate and torsional electrostatic
    MEMS actuators, J. Microelectromech. Syst. 15 (2006) 811, from memory). Damping and what other
    modes yield are left out.
    """
    if not gaps:
        return np.full(len(stiffness_per_s2), np.inf)
    return np.array(
        [_largest_swing(_Course(float(k), gaps, mode)) for mode, k in enumerate(stiffness_per_s2)]
    )


def _largest_swing(course: _Course) -> float:
    ridges = {sign: course.ridge(sign) for sign in (1.0, -1.0)}
    barriers = [course.energy_j(sign * s) for sign, s in ridges.items() if np.isfinite(s)]
    if not barriers:
        return float(np.inf)
    return min(course.reach(sign, min(barriers), most) for sign, most in ridges.items())
