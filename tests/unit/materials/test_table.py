"""Every row of the table is complete and plausible."""

import dataclasses

import pytest

from modewright.materials.model import Sourced, freq_drift_per_k
from modewright.materials.table import material_named, material_names

LIMITS = {
    "youngs_modulus_pa": (60e9, 220e9),
    "poisson_ratio": (0.25, 0.36),
    "density_kg_per_m3": (2600, 9000),
    "expansion_per_k": (8e-6, 24e-6),
    "thermal_conductivity_w_per_m_per_k": (6, 200),
    "specific_heat_j_per_kg_per_k": (350, 920),
    "youngs_modulus_drift_per_k": (-6e-4, -2e-4),
    "loss_factor": (1e-5, 1e-3),
    "relative_permeability": (1, 1000),
    "saturation_t": (0, 2.2),
}


@pytest.mark.parametrize("name", material_names())
def test_row(name):
    material = material_named(name)
    constants = {
        field.name: getattr(material, field.name)
        for field in dataclasses.fields(material)
        if field.name not in ("name", "temperature_k")
    }
    assert constants.keys() == LIMITS.keys()
    for key, (low, high) in LIMITS.items():
        constant = constants[key]
        assert isinstance(constant, Sourced)
        assert low <= constant.value <= high, key
        assert len(constant.source) > 5


def test_the_shear_modulus_of_another_sheet():
    # Spring-wire tables print G beside E: 79 to 83 GPa for A228, 78 GPa for 301.
    assert 79e9 <= material_named("carbon spring steel").solid.shear_modulus_pa <= 83e9
    assert material_named("stainless 301").solid.shear_modulus_pa == pytest.approx(78e9, rel=0.05)


def test_pitch_drift_of_common_metals():
    # Common practice: about -0.2 cent/K for steel, -0.4 for aluminium.
    cent = 5.7779e-4
    assert freq_drift_per_k(material_named("carbon spring steel")) / cent == pytest.approx(
        -0.21, abs=0.03
    )
    assert freq_drift_per_k(material_named("aluminium 6061-T6")) / cent == pytest.approx(
        -0.41, abs=0.03
    )


def test_refuses_an_unknown_metal():
    with pytest.raises(ValueError, match=r"expected one of stainless 301, .*got unobtainium"):
        material_named("unobtainium")
