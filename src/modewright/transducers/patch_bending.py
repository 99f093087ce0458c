"""A thin sheet glued flat to another: how stiff both are together, and what strain of one bends.

The glue is taken as rigid: strain runs straight through both, E. F. Crawley & J. de Luis, Use of
piezoelectric actuators as elements of intelligent structures, AIAA Journal 25 (1987) 1373. A patch
that wants to stretch alike in all directions bends the sheet by even moments around its edges:
E. K. Dimitriadis, C. R. Fuller & C. A. Rogers, Piezoelectric actuators for distributed vibration
excitation of thin plates, J. Vib. Acoust. 113 (1991) 100 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import GeometryError, TransducerError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.materials.solid import IsotropicSolid
    from modewright.modes.basis import ModeShapes

__all__ = ["Curvatures", "Laminate", "PatchArea", "mean_curvatures"]

_CELLS_ALONG = 16
# Gauss's rule of two places on each side of a cell is exact for slopes of the third degree.
_GAUSS = (0.5 - 0.5 / np.sqrt(3), 0.5 + 0.5 / np.sqrt(3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Laminate:
    """A sheet and a patch on one of its faces.

    Parameters
    ----------
    sheet, patch : IsotropicSolid
    sheet_m, patch_m : float
        Thicknesses. [m]
    """

    sheet: IsotropicSolid
    patch: IsotropicSolid
    sheet_m: float
    patch_m: float

    @property
    def _apart_m(self) -> float:
        """Between the middles of both."""
        return (self.sheet_m + self.patch_m) / 2

    @property
    def sheet_stiffness_nm(self) -> float:
        """E h³/(12 (1 - ν²)) of the bare sheet. [N m]"""
        return self.sheet.plate_modulus_pa * self.sheet_m**3 / 12

    @property
    def added_stiffness_nm(self) -> float:
        """What the patch adds to it, the common neutral plane being where it wants to be. [N m]"""
        sheet_n_per_m = self.sheet.plate_modulus_pa * self.sheet_m
        patch_n_per_m = self.patch.plate_modulus_pa * self.patch_m
        together = sheet_n_per_m * patch_n_per_m / (sheet_n_per_m + patch_n_per_m)
        return self.patch.plate_modulus_pa * self.patch_m**3 / 12 + together * self._apart_m**2

    @property
    def moment_n(self) -> float:
        """Moment per length of the edge for a free strain of one alike in all directions. [N]"""
        sheet = self.sheet.youngs_modulus_pa / (1 - self.sheet.poisson_ratio) * self.sheet_m
        patch = self.patch.youngs_modulus_pa / (1 - self.patch.poisson_ratio) * self.patch_m
        return sheet * patch / (sheet + patch) * self._apart_m

    @property
    def outer_face_m(self) -> float:
        """From the common neutral plane to the outer face of the patch. [m]"""
        sheet_n_per_m = self.sheet.plate_modulus_pa * self.sheet_m
        patch_n_per_m = self.patch.plate_modulus_pa * self.patch_m
        shift_m = self._apart_m * patch_n_per_m / (sheet_n_per_m + patch_n_per_m)
        return self.sheet_m / 2 + self.patch_m - shift_m


@dataclass(frozen=True, slots=True, kw_only=True)
class PatchArea:
    """Rectangle on the sheet.

    Parameters
    ----------
    centre_m : tuple of two floats
        [m]
    length_m, width_m : float
        Length at the angle given. [m]
    angle_rad : float
        From x towards y. [rad]
    """

    centre_m: tuple[float, float]
    length_m: float
    width_m: float
    angle_rad: float

    @property
    def axes(self) -> NDArray[np.float64]:
        """Unit vectors along its length and its width, shape (2, 2)."""
        c, s = np.cos(self.angle_rad), np.sin(self.angle_rad)
        return np.array([[c, s], [-s, c]])

    @property
    def area_m2(self) -> float:
        """[m²]"""
        return self.length_m * self.width_m

    def placed_m(self, shares: NDArray[np.float64]) -> NDArray[np.float64]:
        """Places from shares of length and width, 0 to 1, shape (..., 2). [m]"""
        own = (shares - 0.5) * np.array([self.length_m, self.width_m])
        return np.asarray(self.centre_m) + own @ self.axes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curvatures:
    """Mean curvatures of mode shapes in the cells of a patch.

    Parameters
    ----------
    cell_m2 : float
        Area of each. [m²]
    along, across, twist : float arrays, shape (cells, modes)
        Second derivatives of the normal displacement along length, width and both.
        [1/(m² sqrt(kg))]
    """

    cell_m2: float
    along: NDArray[np.float64]
    across: NDArray[np.float64]
    twist: NDArray[np.float64]

    @property
    def bending(self) -> NDArray[np.float64]:
        """Integral of the sum of both curvatures, shape (modes,). [1/sqrt(kg)]"""
        return self.cell_m2 * (self.along + self.across).sum(axis=0)

    def energy(self, poisson_ratio: float) -> NDArray[np.float64]:
        """Twice the bending energy of a plate of stiffness one, shape (modes, modes).

        ``∫ (κx + κy)² - 2 (1 - ν) (κx κy - κxy²) dA``, S. Timoshenko & S. Woinowsky-Krieger,
        Theory of Plates and Shells, eq. 102 (from memory). [1/(m² kg)]
        """
        total = self.along + self.across
        crossed = self.along.T @ self.across
        saddle = (crossed + crossed.T) / 2 - self.twist.T @ self.twist
        return self.cell_m2 * (total.T @ total - 2 * (1 - poisson_ratio) * saddle)

    @property
    def largest(self) -> NDArray[np.float64]:
        """Largest principal curvature of each mode, shape (modes,). [1/(m² sqrt(kg))]"""
        mean, half = (self.along + self.across) / 2, (self.along - self.across) / 2
        return np.max(np.abs(mean) + np.hypot(half, self.twist), axis=0)


def mean_curvatures(name: str, shapes: ModeShapes, area: PatchArea) -> Curvatures:
    """Curvatures of the middle plane under a patch, cell by cell.

    Parameters
    ----------
    name : str
        Driver named in the error.
    shapes : ModeShapes
    area : PatchArea

    Returns
    -------
    Curvatures

    Raises
    ------
    TransducerError
        If part of the patch does not lie on the sheet.

    Notes
    -----
    By Gauss's theorem the mean of a second derivative over a cell is an integral of slopes along
    its sides: slopes are good everywhere, second derivatives of finite elements are not.
    """
    columns = _CELLS_ALONG
    rows = max(1, round(columns * area.width_m / area.length_m))
    shares_x, shares_y = _sides(columns, rows)
    places = area.placed_m(np.concatenate([shares_x.reshape(-1, 2), shares_y.reshape(-1, 2)]))
    try:
        slope = shapes.middle.slope(places)[:, 2]
    except GeometryError as error:
        raise TransducerError(
            f"{name}: expected a patch that lies on the sheet all over. {error.message}",
            hint="Move it or make it smaller.",
        ) from error
    own = np.einsum("ij,pjm->pim", area.axes, slope)
    split = shares_x.reshape(-1, 2).shape[0]
    # Means over the sides that cross the length and over those that cross the width.
    across_x = own[:split].reshape(columns + 1, rows, 2, 2, -1).mean(axis=2)
    across_y = own[split:].reshape(columns, rows + 1, 2, 2, -1).mean(axis=2)
    rise_x = np.diff(across_x, axis=0) / (area.length_m / columns)
    rise_y = np.diff(across_y, axis=1) / (area.width_m / rows)
    cells = columns * rows
    along, twist = np.moveaxis(rise_x.reshape(cells, 2, -1), 1, 0)
    twist_back, across = np.moveaxis(rise_y.reshape(cells, 2, -1), 1, 0)
    return Curvatures(
        cell_m2=area.area_m2 / cells,
        along=along,
        across=across,
        twist=(twist + twist_back) / 2,
    )


def _sides(columns: int, rows: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places on the sides of the cells, as shares: those across the length, those across the width.

    Shapes (columns + 1, rows, 2, 2) and (columns, rows + 1, 2, 2).
    """
    gauss = np.asarray(_GAUSS)
    x, y = np.arange(columns + 1) / columns, np.arange(rows + 1) / rows
    between_x = (np.arange(columns)[:, None] + gauss) / columns
    between_y = (np.arange(rows)[:, None] + gauss) / rows
    first = np.empty((columns + 1, rows, 2, 2))
    first[..., 0], first[..., 1] = x[:, None, None], between_y[None]
    second = np.empty((columns, rows + 1, 2, 2))
    second[..., 0], second[..., 1] = between_x[:, None, :], y[None, :, None]
    return first, second
