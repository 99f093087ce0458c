"""Copper around a plate."""

import math

import pytest

from modewright.transducers.guard import Guard, guard_ring, outer_outline
from modewright.transducers.plate import DiscPlate, RectanglePlate


def test_ring_around_a_disc_has_the_area_of_an_annulus():
    plate = DiscPlate(centre_m=(1e-3, 2e-3), diameter_m=10e-3)
    ring = guard_ring(plate, Guard(width_m=2e-3, gap_m=0.2e-3))
    assert ring.area == pytest.approx(math.pi * (7.2e-3**2 - 5.2e-3**2), rel=3e-3)
    assert len(ring.interiors) == 1


def test_slit_around_a_rectangle_is_as_wide_everywhere():
    plate = RectanglePlate(centre_m=(0.0, 0.0), length_m=10e-3, width_m=5e-3)
    ring = guard_ring(plate, Guard(width_m=1e-3, gap_m=0.3e-3))
    low_x, low_y, high_x, high_y = ring.bounds
    assert (high_x - low_x, high_y - low_y) == pytest.approx((12.6e-3, 7.6e-3))
    assert ring.interiors[0].length == pytest.approx(30e-3 + 2 * math.pi * 0.3e-3, rel=1e-2)


def test_without_guard_the_outline_is_that_of_the_plate():
    plate = RectanglePlate(centre_m=(0.0, 0.0), length_m=10e-3, width_m=5e-3)
    assert outer_outline(plate, None).area == pytest.approx(50e-6)
