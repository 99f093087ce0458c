"""Air films over holes.

Sources
-------
Z. Škvor, Acustica 19 (1967/68) 295: cell about a hole, 12 µ/(π n g³) (A/2 - A²/8 - ln(A)/4 - 3/8)
per area, A the open share (from memory). D. Homentcovschi and R. N. Miles, J. Acoust. Soc. Am. 116
(2004) 2939: films of perforated plates with the resistance of the holes, and that the number of
holes has an optimum (from memory). Limits of a narrow and a wide tube: Poiseuille with Sampson's
ends; Rayleigh, Theory of Sound, sec. 311. Explicit holes: finite elements (NGSolve) of the film
equation.
"""

import math

import numpy as np
import pytest
from shapely import Point, box

from field_in_space import reynolds_force
from modewright.losses.films import AirFilm, film_cells, film_resistance_n_s_per_m
from modewright.losses.hole_cells import HoleCells, hole_impedance_pa_s_per_m3
from modewright.materials.air import air_at

AIR = air_at(293.15)
MU, RHO = AIR.viscosity_pa_s, AIR.density_kg_per_m3


def resistance(area, gap_m, omega, holes, along=28):
    cells = film_cells(AirFilm(area=area, gap_m=gap_m, holes=holes), along=along)
    return film_resistance_n_s_per_m(cells, omega, np.ones(len(cells.points_m)), AIR)


def test_slow_flow_through_a_hole():
    holes = HoleCells(cell_m2=4e-6, radius_m=0.3e-3, depth_m=1.6e-3)
    found = hole_impedance_pa_s_per_m3(1e-3, holes, AIR)
    expected = 8 * MU * 1.6e-3 / (math.pi * 0.3e-3**4) + 3 * MU / 0.3e-3**3
    assert found.real == pytest.approx(expected, rel=1e-6)


def test_fast_flow_through_a_hole_is_mass():
    holes = HoleCells(cell_m2=1e-4, radius_m=3e-3, depth_m=1.6e-3)
    omega = 2e5
    found = hole_impedance_pa_s_per_m3(omega, holes, AIR)
    layer_m = math.sqrt(2 * MU / (RHO * omega))
    length_m = 1.6e-3 * (1 + layer_m / 3e-3) + 16 / (3 * math.pi) * 3e-3
    assert found.imag == pytest.approx(omega * RHO * length_m / (math.pi * 9e-6), rel=5e-3)


def test_the_course_over_frequency_has_no_step():
    holes = HoleCells(cell_m2=4e-6, radius_m=0.3e-3, depth_m=1.6e-3)
    switch = 0.05**2 * MU / (RHO * 0.3e-3**2)
    below, above = (
        hole_impedance_pa_s_per_m3(switch * k, holes, AIR) for k in (0.999999, 1.000001)
    )
    assert above == pytest.approx(below, rel=1e-5)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.3])
def test_many_cells_take_what_skvor_gives(share):
    # A plate so large against its cells that the edge does not count, holes without depth, and a
    # gap so thin that the way to the hole is all.
    gap_m, pitch_m, side_m = 1e-6, 0.5e-3, 0.1
    radius_m = pitch_m * math.sqrt(share / math.pi)
    holes = HoleCells(cell_m2=pitch_m**2, radius_m=radius_m, depth_m=0.0)
    found = resistance(box(0, 0, side_m, side_m), gap_m, 1e-6, holes).real
    shape = share / 2 - share**2 / 8 - math.log(share) / 4 - 3 / 8
    skvor = 12 * MU * pitch_m**2 / (math.pi * gap_m**3) * shape * side_m**2
    assert found == pytest.approx(skvor, rel=0.02)


@pytest.mark.parametrize(
    ("count", "share", "bound"), [(4, 0.05, 0.10), (6, 0.1, 0.07), (8, 0.25, 0.05)]
)
def test_explicit_holes(count, share, bound):
    # Cells that the edge cuts into are let through more than the even sink tells.
    side_m, gap_m = 0.01, 1e-6
    pitch_m = side_m / count
    radius_m = pitch_m * math.sqrt(share / math.pi)
    holes = HoleCells(cell_m2=pitch_m**2, radius_m=radius_m, depth_m=0.0)
    found = resistance(box(0, 0, side_m, side_m), gap_m, 1e-6, holes).real
    scale = 12 * MU / gap_m**3 * side_m**4
    exact = scale * reynolds_force(side=1.0, holes=count, radius=radius_m / side_m)
    assert exact < found < exact * (1 + bound)


def test_few_small_holes_leave_the_solid_film():
    disc = Point(0, 0).buffer(5e-3, quad_segs=64)
    holes = HoleCells(cell_m2=1e-5, radius_m=1e-6, depth_m=1.6e-3)
    solid, drilled = (resistance(disc, 1e-5, 1e-6, each).real for each in (None, holes))
    assert drilled == pytest.approx(solid, rel=0.01)


def test_the_number_of_holes_has_an_optimum():
    # At a fixed open share many narrow holes resist by themselves, few wide ones by the way there.
    # Least of K/(8 π Y n) + 8 µ l π n/A² over n holes per area, by hand from its derivative.
    gap_m, depth_m, share = 0.1e-3, 1.6e-3, 0.1
    way = 12 * MU / gap_m**3 * (4 * share - share**2 - 2 * math.log(share) - 3) / (8 * math.pi)
    through = 8 * MU * depth_m * math.pi / share**2
    best_per_m2 = math.sqrt(way / through)

    def film(per_m2):
        radius_m = math.sqrt(share / (math.pi * per_m2))
        holes = HoleCells(cell_m2=1 / per_m2, radius_m=radius_m, depth_m=depth_m)
        return resistance(box(0, 0, 0.1, 0.1), gap_m, 1e-6, holes, along=40).real

    # Sampson's ends shift it to a little fewer holes.
    course = [film(best_per_m2 * k) for k in (0.3, 0.6, 0.9, 1.4, 2.5)]
    assert np.argmin(course) in (1, 2)
