"""The material of a design."""

import dataclasses

import pytest

from modewright.materials.choice import MaterialChoice, chosen_material
from modewright.materials.table import material_named, material_names
from modewright.parameters import spec_of


def test_the_table_as_it_is():
    assert chosen_material(MaterialChoice(name="brass C26000")) == material_named("brass C26000")


def test_entered_constants_replace_the_table():
    chosen = chosen_material(MaterialChoice(name="brass C26000", youngs_modulus_pa=105e9))
    assert chosen.youngs_modulus_pa.value == 105e9
    assert chosen.youngs_modulus_pa.source == "entered in the design"
    assert chosen.density_kg_per_m3 == material_named("brass C26000").density_kg_per_m3


def test_entered_modulus_holds_at_room_temperature():
    chosen = MaterialChoice(
        name="brass C26000",
        youngs_modulus_pa=100e9,
        youngs_modulus_drift_per_k=-4e-4,
        temperature_k=303.15,
    )
    assert chosen_material(chosen).youngs_modulus_pa.value == pytest.approx(99.6e9)
    assert chosen_material(chosen).temperature_k == 303.15


def test_every_constant_can_be_entered_under_its_plain_name():
    specs = {field.name: spec_of(field) for field in dataclasses.fields(MaterialChoice)}
    constants = {field.name for field in dataclasses.fields(material_named("brass C26000"))}
    assert constants == specs.keys()
    keys = {spec.key(name) for name, spec in specs.items() if spec is not None}
    assert {"youngs_modulus", "density", "expansion", "specific_heat"} <= keys
    assert {"thermal_conductivity", "youngs_modulus_drift", "saturation"} <= keys
    assert specs["name"].choices == material_names()
