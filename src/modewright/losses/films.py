"""Thin air films between a sheet and what faces it: places, gaps and flow."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.linalg import solve_banded
from shapely import Polygon
from shapely.affinity import rotate

from modewright.errors import GeometryError
from modewright.losses.hole_cells import hole_flow_per_area

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.losses.hole_cells import HoleCells
    from modewright.materials.air import Air

__all__ = [
    "AirFilm",
    "FilmCells",
    "film_cells",
    "film_resistance_n_s_per_m",
    "films_under_sheet",
    "flow_conductance",
]

_CELLS_ALONG = 28
# The flow of the gap goes on beyond each edge for about this many gaps.
_BEYOND = 0.6


def _level_m(points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.zeros(len(points_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AirFilm:
    """An air gap under a sheet, open to the room along its edge and at its holes.

    Parameters
    ----------
    area : Polygon
        Where sheet and plate face each other, in plan. [m]
    gap_m : float
        Gap at the centroid of the area. [m]
    slope : tuple of two floats
        Rise of the gap along x and y, metre per metre.
    height_m : callable
        Height of the sheet's face at places, shape (places, 2), over a level of its own: what the
        gap gains over that at the centroid. [m]

    Raises
    ------
    GeometryError
        If the polygon does not bound an area, or the gap is not above zero at every corner.
    """

    area: Polygon
    gap_m: float
    slope: tuple[float, float] = (0.0, 0.0)
    height_m: Callable[[NDArray[np.float64]], NDArray[np.float64]] = _level_m
    holes: HoleCells | None = None

    def __post_init__(self) -> None:
        if not self.area.is_valid or self.area.area <= 0:
            raise GeometryError(
                "air film: expected corners that bound an area, got "
                f"{shapely.is_valid_reason(self.area)} (coordinates in m).",
                hint="List the corners once around the plate.",
            )
        corners_m = shapely.get_coordinates(self.area)
        _check_open(corners_m, self.gap_at(corners_m))

    def gap_at(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Gap at places of the film. [m]"""
        points_m = np.asarray(points_m)
        middle_m = shapely.get_coordinates(self.area.centroid)
        rise_m = self.height_m(points_m) - self.height_m(middle_m)
        return self.gap_m + (points_m - middle_m) @ np.array(self.slope) + rise_m


def films_under_sheet(sheet: Polygon, plate: AirFilm) -> tuple[AirFilm, ...]:
    """Parts of the gap above a plate that the sheet really covers.

    Parameters
    ----------
    sheet : Polygon
        The blank in plan, with its holes, as from `modewright.modes.regions.sheet_polygon`. [m]
    plate : AirFilm
        The gap over the whole plate.

    Returns
    -------
    tuple of AirFilm
        One for each separate part, such as each arm over a common plate; none if the plate lies
        beside the sheet.
    """
    covered = shapely.get_parts(plate.area.intersection(sheet))
    parts = [part for part in covered if isinstance(part, Polygon) and part.area > 0]
    return tuple(
        AirFilm(
            area=part,
            gap_m=float(plate.gap_at(shapely.get_coordinates(part.centroid))[0]),
            slope=plate.slope,
            height_m=plate.height_m,
            holes=plate.holes,
        )
        for part in parts
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FilmCells:
    """A film cut into equal rectangular cells along its own long and short side.

    Parameters
    ----------
    points_m : float array, shape (cells, 2)
        Centres. [m]
    step_m : tuple of two floats
        Sides of a cell. [m]
    sides_m : tuple of two floats
        Sides of the smallest rectangle about the film. [m]
    neighbours : int array, shape (cells, 4)
        Cells behind and ahead along the first and the second side; -1 where the film ends.
    area_m2 : float
        True area of the film; the cells cover nearly that. [m²]
    gap_m : float array, shape (cells,)
        [m]
    holes : HoleCells, optional
        Small holes through the plate.
    """

    points_m: NDArray[np.float64]
    step_m: tuple[float, float]
    sides_m: tuple[float, float]
    neighbours: NDArray[np.int64]
    area_m2: float
    gap_m: NDArray[np.float64]
    holes: HoleCells | None = None

    def moved(self, opening_m: NDArray[np.float64]) -> FilmCells:
        """The same film with its gap opened by so much at every cell. [m]

        Raises
        ------
        GeometryError
            If it closes somewhere.
        """
        gap_m = self.gap_m + opening_m
        _check_open(self.points_m, gap_m)
        return replace(self, gap_m=gap_m)


def film_cells(film: AirFilm, *, along: int = _CELLS_ALONG) -> FilmCells:
    """Cut a film into cells.

    Parameters
    ----------
    film : AirFilm
    along : int
        Cells along its longer side; the shorter has at least half as many.

    Returns
    -------
    FilmCells

    Raises
    ------
    GeometryError
        If the gap closes somewhere inside.
    """
    polygon = film.area
    angle_rad = _long_side_rad(polygon)
    upright = rotate(polygon, -angle_rad, origin=(0, 0), use_radians=True)
    low_x, low_y, high_x, high_y = upright.bounds
    sides = high_x - low_x, high_y - low_y
    counts = along, max(along // 2, math.ceil(along * sides[1] / sides[0]))
    step = sides[0] / counts[0], sides[1] / counts[1]
    x = low_x + (np.arange(counts[0]) + 0.5) * step[0]
    y = low_y + (np.arange(counts[1]) + 0.5) * step[1]
    grid_x, grid_y = np.meshgrid(x, y, indexing="ij")
    inside = shapely.contains_xy(upright, grid_x, grid_y)
    local = np.stack([grid_x[inside], grid_y[inside]], axis=-1).astype(np.float64)
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    points_m = np.asarray(local @ np.array([[cos, sin], [-sin, cos]]), dtype=np.float64)
    gap_m = film.gap_at(points_m)
    _check_open(points_m, gap_m)
    return FilmCells(
        points_m=points_m,
        step_m=step,
        sides_m=sides,
        neighbours=_neighbours(inside),
        area_m2=polygon.area,
        gap_m=gap_m,
        holes=film.holes,
    )


def _check_open(points_m: NDArray[np.float64], gap_m: NDArray[np.float64]) -> None:
    if gap_m.min() <= 0:
        x_mm, y_mm = points_m[gap_m.argmin()] * 1e3
        raise GeometryError(
            f"air film: expected a gap above 0 everywhere, got {gap_m.min() * 1e3:.3g} mm at "
            f"({x_mm:.2f}, {y_mm:.2f}) mm.",
            hint="The face of the sheet comes down there: widen the gap, or move or straighten "
            "what faces it.",
        )


def _long_side_rad(polygon: Polygon) -> float:
    box = shapely.get_coordinates(shapely.oriented_envelope(polygon))
    one, other = box[1] - box[0], box[2] - box[1]
    longer = one if np.hypot(*one) >= np.hypot(*other) else other
    return math.atan2(longer[1], longer[0])


def _neighbours(inside: NDArray[np.bool_]) -> NDArray[np.int64]:
    numbers = np.full((inside.shape[0] + 2, inside.shape[1] + 2), -1)
    numbers[1:-1, 1:-1][inside] = np.arange(np.count_nonzero(inside))
    around = [numbers[:-2, 1:-1], numbers[2:, 1:-1], numbers[1:-1, :-2], numbers[1:-1, 2:]]
    return np.stack([side[inside] for side in around], axis=-1)


def flow_conductance(
    omega_rad_s: float, gap_m: NDArray[np.float64], air: Air
) -> NDArray[np.complex128]:
    """Volume flow per width over pressure gradient in a thin gap. [m⁴ s/kg]

    Parameters
    ----------
    omega_rad_s : float
        [rad/s]
    gap_m : float array
        [m]
    air : Air

    Returns
    -------
    complex array
        g/(i ω ρ) (1 - tanh(s)/s) with s = (g/2) sqrt(i ω ρ/µ), for the time factor exp(i ω t);
        g³/(12 µ) where viscosity rules, ρ ω g²/µ << 10.

    References
    ----------
    Exact flow between parallel walls: L. D. Landau and E. M. Lifshitz, Fluid
    Mechanics, sec. 24 (from memory).
    """
    pace = cmath.sqrt(1j * omega_rad_s * air.density_kg_per_m3 / air.viscosity_pa_s)
    s = np.asarray(gap_m / 2 * pace, dtype=np.complex128)
    free = gap_m / (1j * omega_rad_s * air.density_kg_per_m3)
    # 1 - tanh(s)/s loses its digits for small s; its series does not.
    exact = 1 - np.tanh(s) / s
    series = s**2 / 3 - 2 * s**4 / 15 + 17 * s**6 / 315
    return np.asarray(free * np.where(np.abs(s) < 0.05, series, exact), dtype=np.complex128)


def film_resistance_n_s_per_m(
    cells: FilmCells, omega_rad_s: float, normal: NDArray[np.float64], air: Air
) -> complex:
    """Force of the film on a moving sheet per velocity, weighted with its motion.

    Parameters
    ----------
    cells : FilmCells
    omega_rad_s : float
        [rad/s]
    normal : float array, shape (cells,)
        Normal displacement of the sheet at the cells, in any unit u.
    air : Air

    Returns
    -------
    complex
        ∫ p φ dA per unit velocity: the real part takes energy, the imaginary part is ω times added
        mass (or, if negative, stiffness over ω). [u² N s/m]

    Notes
    -----
    Linear film equation -div(Y grad p) + (i ω g/p0 + h) p = φ, with the flow conductance Y
    including the inertia of the air, with isothermal compression, and with h what holes take out
    (`modewright.losses.hole_cells`). p = 0 along the edge of a film that is 1.2 g
    longer and wider than the area, g being the gap along the edge: the air turns round the edge
    only some way beyond it. A square of side a is damped 1.26 times more by this at g/a = 0.05 and
    1.94 times at 0.15. Known ends lie between 0.42 g, for a slit through a wide wall, and 0.65 g,
    for plates free all round, so that the damping is uncertain by about 1.4 g/a, downwards most
    where a housing surrounds the edge. A film over holes keeps its size and has p = 0 0.6 g beyond
    its edge instead, the same to first order in g/a: only its edges feel them. Gap below a third
    of the shorter side; motion small against the gap. Cells make it 0.5 to 2 % too high for
    rectangles, 1 % too low for discs.

    References
    ----------
    Slit in a wall, 16 µ/(π g²) per end and flow: H. Hasimoto, J. Phys. Soc. Japan 13 (1958) 633.
    Free plates: T. Veijola, A. Pursula and P. Raback, J. Micromech. Microeng. 15 (2005) 1624 (both
    from memory).
    """
    conductance = flow_conductance(omega_rad_s, cells.gap_m, air)
    has_holes = cells.holes is not None
    beyond_m = _BEYOND * _edge_gap_m(cells) if has_holes else 0.0
    cells = cells if has_holes else _lengthened(cells)
    bands, matrix = _film_matrix(cells, conductance, beyond_m)
    matrix[bands] += 1j * omega_rad_s * cells.gap_m / air.pressure_pa
    if cells.holes is not None:
        matrix[bands] += hole_flow_per_area(omega_rad_s, conductance, cells.holes, air)
    pressure = solve_banded((bands, bands), matrix, normal)
    cell_area = cells.step_m[0] * cells.step_m[1]
    # The staircase edge covers not quite the true area, on which the force acts squared, or simply
    # where the air leaves through holes.
    covered = cells.area_m2 / (cell_area * len(normal))
    area_m2 = cell_area * (covered if has_holes else covered**2)
    return complex(np.sum(pressure * normal) * area_m2)


def _edge_gap_m(cells: FilmCells) -> float:
    is_edge = (cells.neighbours < 0).any(axis=1)
    return float(cells.gap_m[is_edge].mean())


def _lengthened(cells: FilmCells) -> FilmCells:
    """Cells stretched so that the film reaches beyond its edges."""
    beyond_m = 2 * _BEYOND * _edge_gap_m(cells)
    first, second = (1 + beyond_m / side for side in cells.sides_m)
    return replace(
        cells,
        step_m=(cells.step_m[0] * first, cells.step_m[1] * second),
        sides_m=(cells.sides_m[0] + beyond_m, cells.sides_m[1] + beyond_m),
        area_m2=cells.area_m2 * first * second,
    )


def _film_matrix(
    cells: FilmCells, conductance: NDArray[np.complex128], beyond_m: float
) -> tuple[int, NDArray[np.complex128]]:
    """-div(Y grad) by finite volumes, as half its band width and its diagonals.

    The edge of the film lies half a step from the last cell; p = 0 is `beyond_m` farther out.
    """
    count = len(conductance)
    own = np.arange(count)
    bands = int(np.max(np.where(cells.neighbours >= 0, cells.neighbours - own[:, None], 0)))
    matrix = np.zeros((2 * bands + 1, count), dtype=np.complex128)
    for side in range(4):
        step = cells.step_m[side // 2]
        other = cells.neighbours[:, side]
        joined = own[other >= 0]
        partner = other[joined]
        between = (conductance[joined] + conductance[partner]) / 2 / step**2
        matrix[bands, joined] += between
        matrix[bands, other < 0] += conductance[other < 0] / (step * (step / 2 + beyond_m))
        matrix[bands + joined - partner, partner] -= between
    return bands, matrix
