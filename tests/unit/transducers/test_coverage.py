import numpy as np
import pytest
from shapely import Polygon, box

from modewright.errors import TransducerError
from modewright.transducers.coverage import covered_points
from modewright.transducers.plate import DiscPlate, RectanglePlate

MM = 1e-3
FORK = Polygon(
    [(0, 0), (60, 0), (60, 6), (20, 6), (20, 8), (60, 8), (60, 14), (0, 14)]
)  # two arms of 6 mm, a slot of 2 mm between them
FORK = Polygon(np.asarray(FORK.exterior.coords) * MM)
ACROSS = RectanglePlate(centre_m=(50 * MM, 7 * MM), length_m=10 * MM, width_m=12 * MM)


def test_slot_under_a_plate_is_no_gap():
    area = covered_points("plate", ACROSS, FORK)
    assert area.area_m2 == pytest.approx(10 * (12 - 2) * MM**2, rel=1e-9)
    assert not np.any((area.points_m[:, 1] > 6 * MM) & (area.points_m[:, 1] < 8 * MM))


def test_covered_plate_is_taken_whole():
    disc = DiscPlate(centre_m=(10 * MM, 7 * MM), diameter_m=6 * MM)
    np.testing.assert_array_equal(
        covered_points("plate", disc, FORK).points_m, disc.area_points().points_m
    )


def test_half_covered_disc_has_half_the_area():
    disc = DiscPlate(centre_m=(0.0, 7 * MM), diameter_m=6 * MM)
    area = covered_points("plate", disc, FORK)
    assert area.area_m2 == pytest.approx(np.pi * 9 / 2 * MM**2, rel=1e-3)


def test_hole_in_the_sheet_is_no_gap():
    sheet = box(0, 0, 20 * MM, 14 * MM).difference(box(4 * MM, 4 * MM, 6 * MM, 6 * MM))
    plate = RectanglePlate(centre_m=(6 * MM, 6 * MM), length_m=8 * MM, width_m=8 * MM)
    assert covered_points("plate", plate, sheet).area_m2 == pytest.approx((64 - 4) * MM**2)


def test_plate_beside_the_sheet_is_refused_with_its_place():
    away = RectanglePlate(centre_m=(80 * MM, 7 * MM), length_m=10 * MM, width_m=12 * MM)
    with pytest.raises(TransducerError, match=r"plate under the sheet, got one .*\(80.00, 7.00\)"):
        covered_points("plate", away, FORK)
