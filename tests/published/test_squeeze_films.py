"""Air films between plates.

Sources
-------
J. J. Blech, On isothermal squeeze films, J. Lubr. Technol. 105 (1983) 615-620: double series for a
rectangular plate with compression (coded below, from memory).
S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, sec. 109: the incompressible film and the
twisted bar obey the same equation, so that the damping is 3 mu J/g^3 (0.42 mu a^4/g^3 for a
square).
Disc: 3 pi mu R^4/(2 g^3) (J. Stefan, 1874).
Edges: H. Hasimoto, J. Phys. Soc. Japan 13 (1958) 633: slit in a wall, 32 mu/(pi g^2) for both ends;
T. Veijola, A. Pursula and P. Raback, J. Micromech. Microeng. 15 (2005) 1624: plates lengthened by
1.3 g (both from memory).
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from modewright.errors import GeometryError
from modewright.losses.films import (
    AirFilm,
    film_cells,
    film_resistance_n_s_per_m,
    films_under_sheet,
    flow_conductance,
)
from modewright.materials.air import air_at
from modewright.modes.closed_form_sections import torsion_constant_m4

AIR = air_at(293.15)
MU, RHO, P0 = AIR.viscosity_pa_s, AIR.density_kg_per_m3, AIR.pressure_pa
THIN_M = 1e-6


def rectangle(a, b, turn_rad=0.0):
    corners = np.array([[-a, -b], [a, -b], [a, b], [-a, b]]) / 2
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    return corners @ np.array([[cos, sin], [-sin, cos]])


def even_resistance(corners_m, gap_m, omega, slope=(0.0, 0.0), along=28):
    cells = film_cells(AirFilm(area=Polygon(corners_m), gap_m=gap_m, slope=slope), along=along)
    return film_resistance_n_s_per_m(cells, omega, np.ones(len(cells.points_m)), AIR)


@pytest.mark.parametrize(("a", "b"), [(0.01, 0.01), (0.01, 0.005), (0.02, 0.003)])
@pytest.mark.parametrize("turn_rad", [0.0, 0.5])
def test_rectangle_as_a_twisted_bar(a, b, turn_rad):
    found = even_resistance(rectangle(a, b, turn_rad), THIN_M, 1e-9).real
    assert found == pytest.approx(3 * MU * torsion_constant_m4(a, b) / THIN_M**3, rel=0.02)


def test_square_pad():
    found = even_resistance(rectangle(0.01, 0.01), THIN_M, 1e-9).real
    assert found == pytest.approx(0.42 * MU * 0.01**4 / THIN_M**3, rel=0.02)


def test_disc():
    turn = np.arange(128) * 2 * np.pi / 128
    corners = 0.005 * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    found = even_resistance(corners, THIN_M, 1e-9).real
    assert found == pytest.approx(1.5 * np.pi * MU * 0.005**4 / THIN_M**3, rel=0.02)


def test_converges_as_the_square_of_the_cell():
    gap_m = 1e-8  # so thin that what lies beyond the edge does not show
    exact = 3 * MU * torsion_constant_m4(0.01, 0.01) / gap_m**3
    errors = [
        abs(even_resistance(rectangle(0.01, 0.01), gap_m, 1e-12, along=n).real / exact - 1)
        for n in (12, 24)
    ]
    assert math.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.1)


@pytest.mark.parametrize("share", [0.01, 0.05, 0.15])
def test_edge_lies_between_that_in_a_wide_wall_and_that_of_free_plates(share):
    """A square lengthened by twice 16/(12 pi) g (Hasimoto) and by twice 0.65 g (Veijola)."""
    side_m = 6e-3
    gap_m = share * side_m
    found = even_resistance(rectangle(side_m, side_m), gap_m, 1e-6).real
    least, most = (
        3 * MU * torsion_constant_m4(*[side_m + 2 * end * gap_m] * 2) / gap_m**3
        for end in (4 / (3 * np.pi), 0.65)
    )
    assert least < found < 1.01 * most


def blech_damping(a, b, gap_m, omega):
    """Series for the in-phase force over velocity; odd m, n."""
    sigma = 12 * MU * omega * b**2 / (P0 * gap_m**2)
    m = np.arange(1, 200, 2.0)
    m2, n2 = m[:, None] ** 2, m[None, :] ** 2
    total = m2 * (b / a) ** 2 + n2
    terms = total / (m2 * n2 * (total**2 + sigma**2 / np.pi**4))
    return 64 * sigma * P0 * a * b / (np.pi**6 * gap_m * omega) * terms.sum()


@pytest.mark.parametrize("omega", [1e3, 1e5, 1e6])
def test_compression_as_in_blech(omega):
    # The series knows no inertia: take a thin gap, where viscosity rules.
    gap_m, a, b = 2e-6, 3e-4, 2e-4
    assert RHO * omega * gap_m**2 / MU < 0.5
    found = even_resistance(rectangle(a, b), gap_m, omega).real
    # At the highest frequency only a rim of two cells flows.
    ends_m = 1.2 * gap_m
    assert found == pytest.approx(blech_damping(a + ends_m, b + ends_m, gap_m, omega), rel=0.04)


def test_rocking_strip():
    """Long strip turning about its middle line: torque mu a^5/(60 g^3) per length and rate."""
    a, length_m, gap_m = 2e-3, 60e-3, THIN_M
    cells = film_cells(AirFilm(area=Polygon(rectangle(length_m, a)), gap_m=gap_m), along=60)
    across = cells.points_m[:, 1]
    found = film_resistance_n_s_per_m(cells, 1e-9, across, AIR).real
    assert found == pytest.approx(MU * a**5 * length_m / (60 * gap_m**3), rel=0.05)


@pytest.mark.parametrize("slope", [0.002, 0.006])
def test_tilted_gap_across_a_long_strip(slope):
    """Lubrication of a wedge: -(g³ p')' = 12 µ with p = 0 at both sides, integrated here."""
    a, length_m, gap_m = 2e-3, 60e-3, THIN_M
    slope *= THIN_M / 1e-4
    x = np.linspace(-a / 2, a / 2, 20001)
    cube = (gap_m + slope * x) ** 3
    one, first = np.trapezoid(1 / cube, x), np.trapezoid(x / cube, x)
    middle = first / one
    per_m = 12 * MU * np.trapezoid((x - middle) ** 2 / cube, x)
    found = even_resistance(rectangle(length_m, a), gap_m, 1e-9, (0.0, slope), along=60).real
    end_loss = 1 - 0.63 * a / length_m
    assert found == pytest.approx(per_m * length_m * end_loss, rel=0.03)


def test_conductance_of_thin_and_of_wide_gaps():
    thin, wide = np.array([1e-5]), np.array([1e-2])
    omega = 2 * np.pi * 440
    assert flow_conductance(omega, thin, AIR)[0] == pytest.approx(1e-5**3 / (12 * MU), rel=1e-3)
    free = 1e-2 / (1j * omega * RHO)
    assert abs(flow_conductance(omega, wide, AIR)[0] / free - 1) < 0.03


def test_series_and_closed_form_of_the_conductance_meet():
    omega = 2 * np.pi * 440
    gap_m = 0.1 * math.sqrt(MU / (RHO * omega))
    low, high = flow_conductance(omega, gap_m * np.array([1 - 1e-6, 1 + 1e-6]), AIR)
    assert abs(high / low - 1) < 1e-5


@given(st.floats(20.0, 20e3), st.floats(2e-5, 1e-3), st.integers(0, 2**31))
@settings(max_examples=25, deadline=None)
def test_the_film_only_takes_energy(freq_hz, gap_m, seed):
    cells = film_cells(AirFilm(area=Polygon(rectangle(0.01, 0.004)), gap_m=gap_m), along=10)
    motion = np.random.default_rng(seed).normal(size=len(cells.points_m))
    assert film_resistance_n_s_per_m(cells, 2 * np.pi * freq_hz, motion, AIR).real > 0


@given(st.floats(1e-8, 5e-8), st.floats(1.1, 2.0))
@settings(max_examples=20, deadline=None)
def test_viscous_damping_falls_with_the_cube_of_the_gap(gap_m, factor):
    one = even_resistance(rectangle(0.01, 0.004), gap_m, 1e-12, along=10).real
    other = even_resistance(rectangle(0.01, 0.004), gap_m * factor, 1e-12, along=10).real
    assert one / other == pytest.approx(factor**3, rel=1e-4)


def test_refuses_a_closed_gap():
    with pytest.raises(GeometryError, match=r"gap above 0 everywhere, got -0.05 mm at \(-5"):
        AirFilm(area=Polygon(rectangle(0.01, 0.01)), gap_m=1e-4, slope=(0.03, 0.0))


def test_refuses_crossed_corners():
    crossed = rectangle(0.01, 0.01)[[0, 2, 1, 3]]
    with pytest.raises(GeometryError, match=r"expected corners that bound an area.*List"):
        AirFilm(area=Polygon(crossed), gap_m=1e-4)


def test_only_what_the_sheet_covers_is_a_film():
    """Two arms over a common tilted plate, one with a round hole."""
    arms = MultiPolygon([box(0, 0, 30e-3, 4e-3), box(0, 6e-3, 30e-3, 10e-3)])
    sheet = arms.union(box(-5e-3, 0, 0, 10e-3)).difference(Point(20e-3, 8e-3).buffer(1e-3))
    plate = AirFilm(area=box(15e-3, 1e-3, 25e-3, 12e-3), gap_m=3e-4, slope=(0.0, 0.005))
    low, high = sorted(films_under_sheet(sheet, plate), key=lambda film: film.area.centroid.y)
    assert low.area.area == pytest.approx(10e-3 * 3e-3)
    assert high.area.area == pytest.approx(10e-3 * 4e-3 - np.pi * 1e-6, rel=1e-3)
    for film in (low, high):
        expected = 3e-4 + 0.005 * (film.area.centroid.y - 6.5e-3)
        assert film.gap_m == pytest.approx(expected, rel=1e-9)
    assert films_under_sheet(sheet, AirFilm(area=box(1, 1, 2, 2), gap_m=1e-4)) == ()


def test_a_hole_vents_the_film():
    square = box(0, 0, 0.01, 0.01)
    vented = square.difference(Point(0.005, 0.005).buffer(1e-3))
    whole, open_middle = (
        film_resistance_n_s_per_m(cells, 1e-3, np.ones(len(cells.points_m)), AIR).real
        for cells in (film_cells(AirFilm(area=area, gap_m=1e-4)) for area in (square, vented))
    )
    assert 0.2 < open_middle / whole < 0.6


def test_arch_over_a_long_strip():
    """Flow out of the middle of a strip: c/L = 12 mu ∫ x²/g³ dx for a gap that is even about it."""
    a, b, depth_m, gap_m = 4e-3, 400e-3, 3e-6, 5e-6

    def height_m(points_m):
        return 7e-3 - depth_m * (2 * points_m[:, 0] / a) ** 2

    film = AirFilm(area=Polygon(rectangle(a, b)), gap_m=gap_m, height_m=height_m)
    cells = film_cells(film, along=120)
    found = film_resistance_n_s_per_m(cells, 1e-7, np.ones(len(cells.points_m)), AIR).real
    x = np.linspace(-a / 2, a / 2, 20001)
    gap = gap_m - depth_m * (2 * x / a) ** 2
    expected = 12 * MU * np.trapezoid(x**2 / gap**3, x) * b
    assert found == pytest.approx(expected, rel=0.02)
    (part,) = films_under_sheet(box(0, -0.1, 1, 0.1), film)
    at = np.array([[1.5e-3, 0.0]])
    assert part.gap_at(at) == pytest.approx(film.gap_at(at))


def test_refuses_a_face_that_comes_down_to_the_plate():
    with pytest.raises(GeometryError, match=r"got -0.1 mm at \(-?0\."):
        film_cells(
            AirFilm(
                area=Polygon(rectangle(10e-3, 4e-3)),
                gap_m=-0.1e-3,
                height_m=lambda points_m: np.where(np.hypot(*points_m.T) > 1e-3, 0.3e-3, 0.0),
            )
        )
