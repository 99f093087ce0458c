"""Areas against exact integrals of polynomials."""

import numpy as np
import pytest

from modewright.transducers.plate import (
    DiscPlate,
    PolygonPlate,
    RectanglePlate,
    disc_points,
    polygon_points,
)


def _moment(area, i, j):
    return float(area.weight_m2 @ (area.points_m[:, 0] ** i * area.points_m[:, 1] ** j))


def test_triangle_moments():
    # ∫ x^i y^j over the unit triangle = i! j!/(i + j + 2)!
    area = polygon_points(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    assert _moment(area, 0, 0) == pytest.approx(1 / 2, rel=1e-13)
    assert _moment(area, 3, 2) == pytest.approx(6 * 2 / 5040, rel=1e-12)


def test_polygon_with_a_re_entrant_corner_in_either_sense():
    corners = np.array([[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]]) * 1e-3
    for given in (corners, corners[::-1]):
        area = polygon_points(given)
        assert area.area_m2 == pytest.approx(3e-6, rel=1e-12)
        assert area.centroid_m == pytest.approx([5e-3 / 6, 5e-3 / 6], rel=1e-12)


def test_disc_moments():
    radius = 4e-3
    area = disc_points((1e-3, 2e-3), radius)
    x, y = (area.points_m - [1e-3, 2e-3]).T
    assert area.area_m2 == pytest.approx(np.pi * radius**2, rel=1e-13)
    assert area.weight_m2 @ (x**4 * y**2) == pytest.approx(np.pi * radius**8 / 64, rel=1e-10)


def test_turned_rectangle_keeps_its_area_and_loop():
    plate = RectanglePlate(centre_m=(0.01, 0.02), length_m=0.008, width_m=0.004, angle_rad=0.4)
    area = plate.area_points()
    assert area.area_m2 == pytest.approx(32e-6, rel=1e-12)
    assert area.centroid_m == pytest.approx([0.01, 0.02], rel=1e-12)
    along = plate.loop.vertices_m[1] - plate.loop.vertices_m[0]
    assert np.arctan2(along[1], along[0]) == pytest.approx(0.4)


def test_loop_of_a_disc_is_two_half_circles():
    loop = DiscPlate(centre_m=(0.0, 0.0), diameter_m=0.01).loop
    assert loop.bulge.tolist() == [1.0, 1.0]


@pytest.mark.parametrize(
    ("corners", "expected"),
    [
        (((0.0, 0.0), (1.0, 0.0)), "three corners"),
        (((0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0)), "bounds an area"),
    ],
)
def test_bad_corners_are_reported(corners, expected):
    (fault,) = PolygonPlate(corners_m=corners).problems()
    assert expected in fault.expected
