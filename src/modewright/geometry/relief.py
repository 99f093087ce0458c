"""Metal taken off the faces of a body so that its thickness varies smoothly along x.

Undercut arches and tapers of thickness; steps of thickness are pockets. Depths are measured from
the face of the stock, so that a family need not know how thick that is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.polynomial import chebyshev

from modewright.checks import check_finite, check_shape, frozen_array

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

__all__ = ["DepthCurve", "Relief"]

# Chebyshev polynomials of this degree give a whole wave of a cosine to 1e-12 of its height.
_DEGREE = 16


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DepthCurve:
    """Depth that is taken off one face as a function of x: polynomials piece by piece.

    Parameters
    ----------
    breaks_m : float array, shape (pieces + 1,)
        x at which pieces begin and end, rising; the depth is zero outside, and continuous. [m]
    coefficients_m : float array, shape (pieces, terms)
        Chebyshev coefficients of each piece on its own [-1, 1]. [m]
    side : {"top", "bottom"}
        Face from which the metal is taken.
    has_kinks_inside : bool
        Whether slope or curvature jump between pieces, so that meshes should follow the breaks;
        at the two ends they do in any case.
    """

    breaks_m: NDArray[np.float64]
    coefficients_m: NDArray[np.float64]
    side: Literal["top", "bottom"]
    has_kinks_inside: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "breaks_m", frozen_array(self.breaks_m))
        object.__setattr__(self, "coefficients_m", frozen_array(self.coefficients_m))
        check_shape(self.coefficients_m, "coefficients_m", (len(self.breaks_m) - 1, None))
        check_finite(self.coefficients_m, "coefficients_m")
        if np.any(np.diff(self.breaks_m) <= 0):
            raise ValueError(f"breaks_m: expected rising values, got {self.breaks_m.tolist()}")

    @classmethod
    def of_functions(
        cls,
        breaks_m: list[float],
        functions: list[Callable[[NDArray[np.float64]], NDArray[np.float64]]],
        side: Literal["top", "bottom"],
        *,
        has_kinks_inside: bool = True,
    ) -> DepthCurve:
        """Curve through smooth functions of x, one for each piece. [m]"""
        rows: list[NDArray[np.float64]] = []
        for low, high, function in zip(breaks_m[:-1], breaks_m[1:], functions, strict=True):
            middle, half = (low + high) / 2, (high - low) / 2
            places = chebyshev.chebpts1(_DEGREE + 1)
            fitted = chebyshev.chebfit(places, function(middle + half * places), _DEGREE)
            rows.append(np.asarray(fitted, dtype=np.float64))
        return cls(
            breaks_m=np.array(breaks_m),
            coefficients_m=np.array(rows),
            side=side,
            has_kinks_inside=has_kinks_inside,
        )

    @property
    def kinks_m(self) -> tuple[float, ...]:
        """Places that meshes should follow. [m]"""
        kept = self.breaks_m if self.has_kinks_inside else self.breaks_m[[0, -1]]
        return tuple(float(x) for x in kept)

    def depth_m(self, x_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Depth at places. [m]"""
        low, high = self.breaks_m[0], self.breaks_m[-1]
        piece = np.clip(
            np.searchsorted(self.breaks_m, x_m, side="right") - 1, 0, len(self.breaks_m) - 2
        )
        start, end = self.breaks_m[piece], self.breaks_m[piece + 1]
        local = np.clip((2 * x_m - start - end) / (end - start), -1.0, 1.0)
        values = chebyshev.chebval(local, self.coefficients_m[piece].T, tensor=False)
        return np.where((x_m >= low) & (x_m <= high), values, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Relief:
    """Everything that is taken off the two faces.

    Parameters
    ----------
    curves : tuple of DepthCurve
        Depths of the same face add up.
    """

    curves: tuple[DepthCurve, ...]

    @property
    def kinks_m(self) -> tuple[float, ...]:
        """Places that meshes should follow, rising. [m]"""
        return tuple(sorted({x for curve in self.curves for x in curve.kinks_m}))

    def depth_m(self, x_m: NDArray[np.float64], side: str) -> NDArray[np.float64]:
        """Depth taken off one face at places. [m]"""
        depths = [curve.depth_m(x_m) for curve in self.curves if curve.side == side]
        return np.sum([np.zeros_like(x_m), *depths], axis=0)

    def faces_m(
        self, x_m: NDArray[np.float64], thickness_m: float
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Heights of the lower and the upper face of stock of this thickness. [m]"""
        return self.depth_m(x_m, "bottom"), thickness_m - self.depth_m(x_m, "top")
