"""How displacement may vary through the thickness: polynomials on a stack of layers.

The sheet is cut by levels at every face that occurs in it, so that each layer is either full of
metal or empty at any place of the plane. Within a layer the displacement is a polynomial through
Gauss-Lobatto points, whose end points lie on the levels and are shared by neighbouring layers.

If the sheet is the mirror image of itself in its middle plane, sums and differences of mirrored
functions take their place: motion normal to the sheet and motion within it then separate.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.polynomial.legendre import Legendre, leggauss

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = ["Column", "ThicknessProducts", "layer_levels"]


def layer_levels(faces_m: Sequence[float], max_height_m: float) -> NDArray[np.float64]:
    """Heights at which layers begin and end.

    Parameters
    ----------
    faces_m : sequence of float
        Heights of all faces of the sheet, rising. [m]
    max_height_m : float
        Thicker layers are divided. [m]

    Returns
    -------
    float array
        Rising; contains the faces. [m]
    """
    levels = [faces_m[0]]
    for low, high in itertools.pairwise(faces_m):
        parts = int(np.ceil((high - low) / max_height_m - 1e-9))
        levels.extend(np.linspace(low, high, parts + 1)[1:])
    return np.array(levels)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThicknessProducts:
    """Integrals through the thickness of products of the column's functions.

    Parameters
    ----------
    values : float array, shape (functions, functions)
        ∫ φ_a φ_b dz. [m]
    slopes : float array, shape (functions, functions)
        ∫ φ_a' φ_b' dz. [1/m]
    slope_value : float array, shape (functions, functions)
        ∫ φ_a' φ_b dz.
    """

    values: NDArray[np.float64]
    slopes: NDArray[np.float64]
    slope_value: NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Column:
    """Functions of z shared by the whole body.

    Parameters
    ----------
    levels_m : float array, shape (layers + 1,)
        Heights of the faces, rising. [m]
    order : int
        Polynomial order within a layer, >= 1.
    is_mirrored : bool
        Whether functions are even or odd about the middle; only if the levels are.

    Raises
    ------
    ValueError
        If levels do not rise or the order is below 1.
    """

    levels_m: NDArray[np.float64]
    order: int
    is_mirrored: bool

    def __post_init__(self) -> None:
        if self.order < 1 or len(self.levels_m) < 2 or np.any(np.diff(self.levels_m) <= 0):
            raise ValueError("column: expected order >= 1 and at least two rising levels")

    @property
    def function_count(self) -> int:
        """Number of functions of z."""
        return (len(self.levels_m) - 1) * self.order + 1

    @cached_property
    def is_odd(self) -> NDArray[np.bool_]:
        """Which functions are odd about the middle plane; all False if not mirrored."""
        if not self.is_mirrored:
            return np.zeros(self.function_count, dtype=bool)
        return np.arange(self.function_count) >= (self.function_count + 1) // 2

    @cached_property
    def _to_nodal(self) -> NDArray[np.float64]:
        """Values of the functions (columns) at the nodes (rows)."""
        count = self.function_count
        if not self.is_mirrored:
            return np.eye(count)
        unit = np.eye(count)
        even = [unit[i] + unit[count - 1 - i] for i in range(count // 2)]
        middle = [unit[count // 2]] if count % 2 else []
        odd = [unit[count - 1 - i] - unit[i] for i in range(count // 2)]
        return np.array([*even, *middle, *odd]).T

    @cached_property
    def node_heights_m(self) -> NDArray[np.float64]:
        """Heights of the nodes, rising. [m]"""
        low, high = self.levels_m[:-1, None], self.levels_m[1:, None]
        inner = low + (high - low) * (1 + _lobatto(self.order)[:-1]) / 2
        return np.append(inner.ravel(), self.levels_m[-1])

    def coefficients(self, node_values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Coefficients of the functions whose sum has these values at the nodes."""
        return np.asarray(np.linalg.solve(self._to_nodal, node_values), dtype=np.float64)

    def from_lower(self, lower: Column) -> NDArray[np.float64]:
        """Coefficients of the functions of a column of lower order on the same levels.

        Returns
        -------
        float array, shape (functions, functions of the lower)
        """
        values, _ = _lagrange(lower.order, _lobatto(self.order))
        at_nodes = np.zeros((self.function_count, lower.function_count))
        for layer in range(len(self.levels_m) - 1):
            low, low_of_lower = layer * self.order, layer * lower.order
            at_nodes[low : low + self.order + 1, low_of_lower : low_of_lower + lower.order + 1] = (
                values
            )
        return self.coefficients(at_nodes @ lower._to_nodal)

    def at_level(self, level: int) -> NDArray[np.float64]:
        """Values of the functions on a level."""
        return self._to_nodal[level * self.order]

    def present(self, layers: Sequence[int]) -> NDArray[np.bool_]:
        """Which functions are not zero throughout these layers."""
        nodes = sorted({i * self.order + j for i in layers for j in range(self.order + 1)})
        return np.any(self._to_nodal[nodes] != 0, axis=0)

    def products(self, layers: Sequence[int]) -> ThicknessProducts:
        """Integrals over these layers of products of the functions."""
        weights, values, slopes, _ = self.samples(layers)
        weighted = slopes.T * weights
        return ThicknessProducts(
            values=(values.T * weights) @ values,
            slopes=weighted @ slopes,
            slope_value=weighted @ values,
        )

    def first_moments(
        self, layers: Sequence[int]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Integrals of the functions and of their slopes times the height over the layers' middle.

        Returns
        -------
        values_m2, slopes_m : float arrays, shape (functions,)
            ∫ φ_a ζ dz [m²] and ∫ φ_a' ζ dz [m].
        """
        weights, values, slopes, z = self.samples(layers)
        middle = (self.levels_m[min(layers)] + self.levels_m[max(layers) + 1]) / 2
        lever = weights * (z - middle)
        return lever @ values, lever @ slopes

    def samples(
        self, layers: Sequence[int]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Rule of integration over the layers and the functions at its places.

        Returns
        -------
        weights : float array, shape (places,)
            [m]
        values, slopes : float arrays, shape (places, functions)
            Slopes in [1/m].
        heights : float array, shape (places,)
            [m]
        """
        local, share = leggauss(self.order + 1)
        shape, slope = _lagrange(self.order, local)
        count, points = self.function_count, len(local)
        values, slopes = np.zeros((2, len(layers) * points, count))
        weights, heights = np.zeros((2, len(layers) * points))
        for place, layer in enumerate(layers):
            low, high = self.levels_m[layer], self.levels_m[layer + 1]
            rows = slice(place * points, (place + 1) * points)
            columns = slice(layer * self.order, (layer + 1) * self.order + 1)
            values[rows, columns] = shape
            slopes[rows, columns] = slope * 2 / (high - low)
            weights[rows] = share * (high - low) / 2
            heights[rows] = low + (high - low) * (1 + local) / 2
        return weights, values @ self._to_nodal, slopes @ self._to_nodal, heights


def _lobatto(order: int) -> NDArray[np.float64]:
    """Gauss-Lobatto points of [-1, 1]: its ends and the extremes of a Legendre polynomial."""
    inner = np.sort(Legendre.basis(order).deriv().roots().real)
    return np.concatenate([[-1.0], inner, [1.0]])


def _lagrange(
    order: int, local: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Values and slopes on [-1, 1] of the polynomials through the Gauss-Lobatto points."""
    coefficients = np.linalg.inv(np.vander(_lobatto(order), increasing=True))
    powers = np.vander(local, order + 1, increasing=True)
    slopes = (powers[:, :-1] * np.arange(1, order + 1)) @ coefficients[1:]
    return powers @ coefficients, slopes
