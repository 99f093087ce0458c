"""Constants of air.

Sources
-------
D. H. Keefe, J. Acoust. Soc. Am. 75 (1984) 58-62, list of constants, evaluated at 20 degC.
O. Cramer, J. Acoust. Soc. Am. 93 (1993) 2510-2516: 331.455 m/s at 0 degC and 343.367 m/s at
20 degC, dry, 314 ppm carbon dioxide, 101.325 kPa; 343.994 m/s at 50 % relative humidity.
Uncertainty 300 ppm.
"""

import pytest

from modewright.materials.air import air_at, speed_of_sound_m_per_s


def test_keefe_at_twenty_degrees():
    air = air_at(293.15)
    assert air.density_kg_per_m3 == pytest.approx(1.20391, rel=5e-6)
    assert air.viscosity_pa_s == pytest.approx(1.81439e-5, rel=5e-6)
    assert air.heat_ratio == pytest.approx(1.40189, rel=5e-6)
    assert air.speed_of_sound_m_per_s == pytest.approx(343.282, rel=5e-4)


@pytest.mark.parametrize(
    ("temperature_k", "humidity", "speed"),
    [(273.15, 0.0, 331.455), (293.15, 0.0, 343.367), (293.15, 0.5, 343.994)],
)
def test_cramer_speed_of_sound(temperature_k, humidity, speed):
    found = speed_of_sound_m_per_s(temperature_k, relative_humidity=humidity)
    assert found == pytest.approx(speed, abs=1e-3)
