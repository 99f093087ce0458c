"""Force between loops and magnets against fields on the axis and by the Biot-Savart sum."""

import numpy as np
import pytest

from modewright.transducers.coaxial import (
    RingCoil,
    RoundMagnet,
    force_factor_n_per_a,
    loop_force_n_per_a2,
)

MU_0 = 4e-7 * np.pi


def _by_sum(first_m, second_m, distance_m, count=2000):
    """Neumann's integral by the trapezium rule, which is exact to all digits for smooth periods."""

    def mutual(z):
        angle = 2 * np.pi * np.arange(count) / count
        apart = np.sqrt(first_m**2 + second_m**2 + z**2 - 2 * first_m * second_m * np.cos(angle))
        return MU_0 * first_m * second_m / 2 * np.mean(2 * np.pi * np.cos(angle) / apart)

    step = 1e-4 * distance_m
    return -(mutual(distance_m + step) - mutual(distance_m - step)) / (2 * step)


@pytest.mark.parametrize("radii_m", [(5e-3, 5e-3), (1e-3, 8e-3), (20e-3, 6e-3)])
def test_two_loops(radii_m):
    first, second = (np.array([radius]) for radius in radii_m)
    for distance_m in (1e-3, 5e-3, 50e-3):
        found = loop_force_n_per_a2(first, second, np.array([distance_m]))[0]
        assert found == pytest.approx(_by_sum(*radii_m, distance_m), rel=1e-6)


def test_small_magnet_far_above_a_loop_is_a_dipole():
    """M dB/dz of a loop on its axis, B = µ0 b²/(2 (b² + z²)^1.5)."""
    magnet = RoundMagnet(radius_m=0.1e-3, length_m=0.1e-3, remanence_t=1.2)
    ring = RingCoil(inner_radius_m=10e-3, outer_radius_m=10.001e-3, length_m=1e-6, turns=40)
    moment = 1.2 / MU_0 * np.pi * 1e-8 * 1e-4
    z, b = 8e-3, 10e-3
    slope = 3 * MU_0 * b**2 * z / (2 * (b**2 + z**2) ** 2.5)
    found = force_factor_n_per_a(magnet, ring, z - 0.05e-3)
    assert found == pytest.approx(40 * moment * slope, rel=1e-3)


def test_thick_winding_is_the_sum_of_its_parts():
    magnet = RoundMagnet(radius_m=1.5e-3, length_m=1e-3, remanence_t=1.2)
    whole = RingCoil(inner_radius_m=1e-3, outer_radius_m=5e-3, length_m=6e-3, turns=600)
    parts = [
        (RingCoil(inner_radius_m=r, outer_radius_m=r + 1e-3, length_m=1.5e-3, turns=1), z)
        for r in np.arange(1e-3, 5e-3 - 1e-9, 1e-3)
        for z in np.arange(0.0, 6e-3 - 1e-9, 1.5e-3)
    ]
    total = 600 / 16 * sum(force_factor_n_per_a(magnet, part, 1e-3 + z) for part, z in parts)
    assert force_factor_n_per_a(magnet, whole, 1e-3) == pytest.approx(total, rel=1e-4)
