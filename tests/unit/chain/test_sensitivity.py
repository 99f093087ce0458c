"""Numbers of a design as parameters: which there are, what they do, which have no derivative."""

from pathlib import Path

import numpy as np
import pytest

from modewright.chain.parameter import body_parameters, parameter_at
from modewright.chain.sensitivity import frequency_sensitivity
from modewright.design.load import load_design, parse_design
from modewright.errors import DesignError
from modewright.materials.choice import chosen_material
from modewright.materials.model import freq_drift_per_k

EXAMPLE = Path(__file__).parents[3] / "examples/boathouse_bench/g3.toml"
PLATE = b"""
[material]
name = "stainless 301 half hard"
temperature = "30 degC"
[stock]
thickness = "2 mm"
[resonator]
kind = "plate"
length = "100 mm"
width = "60 mm"
[[features]]
kind = "round hole"
centre = ["40 mm", "0 mm"]
diameter = "6 mm"
[support]
kind = "free"
"""
CENTS = 1200 / np.log(2)


@pytest.fixture(scope="module")
def plate():
    design = parse_design(PLATE, folder=Path()).design
    return design, frequency_sensitivity(design, Path(), count=3, accuracy="draft")


def column(found, address):
    texts = [parameter.address.text for parameter in found.parameters]
    return found.cents_per_unit[:, texts.index(address)]


def test_all_numbers_of_the_body_and_no_others():
    design = load_design(EXAMPLE).design
    parameters, _ = body_parameters(design, EXAMPLE.parent)
    texts = {parameter.address.text for parameter in parameters}
    assert {"stock.thickness", "resonator.arms[2].width", "material.density"} <= texts
    assert {"drivers[1].offset[1]", "drivers[1].armature.thickness"} <= texts
    assert not any(text.startswith(("pickups", "electronics", "losses")) for text in texts)
    assert "material.thermal_conductivity" not in texts
    assert "drivers[1].gap" not in texts


def test_constants_of_the_table_are_parameters(plate):
    design, found = plate
    solid = chosen_material(design.material)
    modulus = parameter_at(design, Path(), "material.youngs_modulus").value
    np.testing.assert_allclose(
        column(found, "material.youngs_modulus") * modulus, CENTS / 2, rtol=1e-5
    )
    density = solid.density_kg_per_m3.value
    np.testing.assert_allclose(column(found, "material.density") * density, -CENTS / 2, rtol=1e-5)


def test_warmth_acts_by_modulus_and_growth(plate):
    """Half of the drift of the modulus and of the expansion: ½ (β_E + α)."""
    design, found = plate
    drift = freq_drift_per_k(chosen_material(design.material))
    np.testing.assert_allclose(column(found, "material.temperature"), CENTS * drift, rtol=0.01)


def test_a_hole_in_the_middle_does_nothing_across(plate):
    _, found = plate
    symmetric = np.abs(column(found, "features[1].centre[2]"))
    assert symmetric.max() < 1e-3 * np.abs(column(found, "resonator.width")).max()


def test_a_rounding_that_just_fits_has_no_derivative():
    """A tip as round as it can be: it would lose its flat, or gain one."""
    text = EXAMPLE.read_text().replace('width = "7 mm"', 'width = "6 mm"')
    text = text.replace('tip_radius = "0.5 mm"', 'tip_radius = "0 mm"')
    design = parse_design(text.encode(), folder=EXAMPLE.parent).design
    found = frequency_sensitivity(design, EXAMPLE.parent, count=1, accuracy="draft")
    reasons = {one.address.text: one.reason for one in found.unfit}
    assert "lines and arcs" in reasons["resonator.tip_radius"]
    assert "resonator.tip_radius" not in {p.address.text for p in found.parameters}


def test_numbers_that_are_not_given_are_refused():
    design = load_design(EXAMPLE).design
    with pytest.raises(DesignError, match=r"resonator\.base_width: expected a number that the"):
        parameter_at(design, EXAMPLE.parent, "resonator.base_width")
