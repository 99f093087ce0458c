"""Mode shapes of a sheet as polynomials on triangles, readable anywhere on its lower face.

Its middle plane is kept too: where a thick bar twists, its lower face moves sideways.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from modewright.checks import check_shape, frozen_array
from modewright.errors import GeometryError
from modewright.modes.plane_space import triangle_factors
from modewright.modes.triangle import basis_values, lattice

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["SheetShapes"]

# A polygon stands for every arc: a place this far outside it still belongs to the sheet.
_EDGE_TOLERANCE_M = 2e-5
_CANDIDATES = (4, 24)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetShapes:
    """Mass-normalised shapes on the lower face and of the middle plane.

    Parameters
    ----------
    corners_m : float array, shape (triangles, 3, 2)
        Corners of each triangle. [m]
    order : int
        Polynomial order on each triangle.
    node_values : float array, shape (triangles, nodes, 3, modes)
        Displacement of the lower face at the nodes of `lattice`. [1/sqrt(kg)]
    middle_values : float array, shape (triangles, nodes, 3, modes)
        Mean of that of the lower and of the upper face. [1/sqrt(kg)]
    edge_tolerance_m : float
        A place this far beside every triangle still belongs to the body. [m]
    """

    corners_m: NDArray[np.float64]
    order: int
    node_values: NDArray[np.float64]
    middle_values: NDArray[np.float64]
    edge_tolerance_m: float = _EDGE_TOLERANCE_M

    def __post_init__(self) -> None:
        object.__setattr__(self, "corners_m", frozen_array(self.corners_m))
        object.__setattr__(self, "node_values", frozen_array(self.node_values))
        object.__setattr__(self, "middle_values", frozen_array(self.middle_values))
        nodes = len(lattice(self.order))
        check_shape(self.node_values, "node_values", (len(self.corners_m), nodes, 3, None))
        check_shape(self.middle_values, "middle_values", self.node_values.shape)

    @property
    def mode_count(self) -> int:
        """Number of modes."""
        return self.node_values.shape[-1]

    @property
    def middle(self) -> SheetShapes:
        """Shapes of the middle plane; see `modewright.modes.basis.ModeShapes`."""
        return replace(self, node_values=self.middle_values)

    @property
    def peak(self) -> NDArray[np.float64]:
        """Largest displacement of each mode at any node. [1/sqrt(kg)]"""
        return np.linalg.norm(self.node_values, axis=2).max(axis=(0, 1))

    def displacement(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Displacement per modal coordinate; see `modewright.modes.basis.ModeShapes`."""
        points_m = np.asarray(points_m, dtype=np.float64)
        triangle, barycentric = self.located(points_m)
        weights, _ = basis_values(self.order, barycentric)
        return np.einsum("pn,pncm->pcm", weights, self.node_values[triangle])

    def recombined(self, mixing: NDArray[np.float64]) -> SheetShapes:
        """Shapes of new modes; see `modewright.modes.basis.ModeShapes`."""
        return replace(
            self,
            node_values=self.node_values @ mixing,
            middle_values=self.middle_values @ mixing,
        )

    def slope(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Slopes of the displacement in the plane of the sheet.

        Parameters
        ----------
        points_m : float array, shape (points, 2)
            [m]

        Returns
        -------
        float array, shape (points, 3 components, 2 directions, modes)
            [1/(m sqrt(kg))]
        """
        points_m = np.asarray(points_m, dtype=np.float64)
        triangle, barycentric = self.located(points_m)
        _, slopes = basis_values(self.order, barycentric)
        _, to_local = triangle_factors(self.corners_m[triangle])
        weights = np.einsum("pna,pax->pnx", slopes, to_local)
        return np.einsum("pnx,pncm->pcxm", weights, self.node_values[triangle])

    def located(
        self, points_m: NDArray[np.float64]
    ) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """Triangle of each place and its barycentric coordinates there."""
        middles = self.corners_m.mean(axis=1)
        tree = cKDTree(middles)
        triangle = np.zeros(len(points_m), dtype=np.int64)
        barycentric = np.zeros((len(points_m), 3))
        outside_m = np.full(len(points_m), np.inf)
        # Most places lie in one of the nearest triangles; looking at more takes longer.
        for near in (*_CANDIDATES, len(middles)):
            lost = np.nonzero(outside_m > 0)[0]
            if len(lost) == 0:
                break
            if near >= len(middles):
                candidates = np.broadcast_to(np.arange(len(middles)), (len(lost), len(middles)))
            else:
                _, found = tree.query(points_m[lost], k=near)
                candidates = np.asarray(found, dtype=np.int64).reshape(len(lost), near)
            best = self._best_of(points_m[lost], candidates)
            triangle[lost], barycentric[lost], outside_m[lost] = best
        off = np.nonzero(outside_m > self.edge_tolerance_m)[0]
        if len(off):
            x_mm, y_mm = points_m[off[0]] * 1e3
            raise GeometryError(
                f"place ({x_mm:.3f}, {y_mm:.3f}) mm: expected a point on the sheet, got one "
                f"{outside_m[off[0]] * 1e3:.3f} mm off it ({len(off)} such points).",
                hint="Move it onto the sheet.",
            )
        return triangle, barycentric

    def _best_of(
        self, points_m: NDArray[np.float64], candidates: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
        """Among the candidates of each place, the triangle it lies deepest in."""
        corners = self.corners_m[candidates]
        a, b = corners[..., 0, :], corners[..., 1, :]
        c = corners[..., 2, :]
        p = points_m[:, None, :]
        double_area = _cross(b - a, c - a)
        bary = np.stack([_cross(b - p, c - p), _cross(c - p, a - p), _cross(a - p, b - p)], axis=-1)
        bary = bary / double_area[..., None]
        opposite = np.stack([c - b, a - c, b - a], axis=-2)
        height = np.abs(double_area)[..., None] / np.linalg.norm(opposite, axis=-1)
        outside = np.max(-bary * height, axis=-1)
        best = np.argmin(outside, axis=1)
        rows = np.arange(len(points_m))
        # Round-off on an edge between triangles is not "outside".
        distance = np.where(outside[rows, best] > 1e-12, outside[rows, best], 0.0)
        return candidates[rows, best], bary[rows, best], distance


def _cross(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
