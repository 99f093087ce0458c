"""Air against the perfect gas."""

import math

import pytest

from modewright.materials.air import air_at

GAS_CONSTANT = 8.314462618
MOLAR_MASS = 0.0289652


@pytest.mark.parametrize(
    ("celsius", "tolerance"), [(-2, 0.01), (20, 0.004), (55, 0.01), (90, 0.05)]
)
def test_density_of_a_perfect_gas(celsius, tolerance):
    temperature_k = 273.15 + celsius
    air = air_at(temperature_k)
    expected = air.pressure_pa * MOLAR_MASS / (GAS_CONSTANT * temperature_k)
    assert air.density_kg_per_m3 == pytest.approx(expected, rel=tolerance)


def test_constants_belong_together():
    air = air_at(293.15)
    speed = math.sqrt(air.heat_ratio * air.pressure_pa / air.density_kg_per_m3)
    assert air.speed_of_sound_m_per_s == pytest.approx(speed, rel=2e-3)
    assert air.prandtl_number == pytest.approx(0.71, abs=0.005)


def test_refuses_a_furnace():
    with pytest.raises(ValueError, match="expected 223 to 373 K, got 900"):
        air_at(900.0)
