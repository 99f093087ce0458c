"""A material and its temperature."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modewright.materials.model import (
    Sourced,
    at_temperature,
    expansion_freq_ratio,
    freq_drift_per_k,
)
from modewright.materials.table import material_named, material_names

names = st.sampled_from(material_names())
temperatures = st.floats(253.15, 333.15)


def strip_freq_hz(youngs_modulus_pa, density, length_m, thickness_m):
    """First mode of a clamped strip, Euler and Bernoulli."""
    return 0.161538 * thickness_m / length_m**2 * (youngs_modulus_pa / density) ** 0.5


@given(names, temperatures)
def test_heating_a_strip_size_and_modulus_together(name, temperature_k):
    cold = material_named(name)
    warm = at_temperature(cold, temperature_k)
    stretch = 1 + cold.expansion_per_k.value * (temperature_k - 293.15)
    density = cold.density_kg_per_m3.value
    grown = strip_freq_hz(
        warm.youngs_modulus_pa.value, density / stretch**3, 0.06 * stretch, 1e-3 * stretch
    )
    drawn = strip_freq_hz(warm.solid.youngs_modulus_pa, warm.solid.density_kg_per_m3, 0.06, 1e-3)
    assert drawn * expansion_freq_ratio(warm, temperature_k) == pytest.approx(grown, rel=1e-12)


@given(names)
def test_drift_is_the_slope_at_room_temperature(name):
    material = material_named(name)

    def freq(temperature_k):
        warm = at_temperature(material, temperature_k)
        size = expansion_freq_ratio(warm, temperature_k)
        return warm.youngs_modulus_pa.value**0.5 * size

    slope = (freq(293.25) - freq(293.05)) / 0.2 / freq(293.15)
    assert freq_drift_per_k(material) == pytest.approx(slope, rel=1e-4)


@given(names, temperatures, temperatures)
def test_heating_in_steps_is_heating_at_once(name, first_k, second_k):
    material = material_named(name)
    at_once = at_temperature(material, second_k)
    in_steps = at_temperature(at_temperature(material, first_k), second_k)
    assert in_steps.youngs_modulus_pa.value == pytest.approx(
        at_once.youngs_modulus_pa.value, rel=1e-12
    )
    assert in_steps.temperature_k == second_k


def test_magnetism():
    assert material_named("carbon spring steel").magnetism == "ferromagnetic"
    assert material_named("stainless 301 half hard").magnetism == "weakly magnetic"
    assert material_named("stainless 304").magnetism == "non-magnetic"
    assert material_named("brass C26000").magnetism == "non-magnetic"


def test_refuses_a_temperature_without_stiffness():
    with pytest.raises(ValueError, match="expected near room temperature, got 5000"):
        at_temperature(material_named("brass C26000"), 5000.0)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"value": float("nan")}, "value: expected a finite number"),
        ({"spread": -0.1}, "spread: expected 0 or above, got -0.1"),
        ({"source": ""}, "source: expected a few words"),
    ],
)
def test_refuses_numbers_without_origin(change, message):
    with pytest.raises(ValueError, match=message):
        dataclasses.replace(Sourced(value=1.0, spread=0.0, source="a book"), **change)
