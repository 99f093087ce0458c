"""Constants of alloys as printed on several data sheets; the table's spread must cover them.

Sources
-------
Strip mill data sheets of C26000, C51000, C77000 and stainless 301; spring-wire tables after ASTM
A228, A229 and B159 (Msi and lb/in3); materials database sheets of stainless 301 full hard and 304;
supplier sheets of C52100, C17200, 6061-T6 and Ti-6Al-4V. All at room temperature.
L. Cremer and M. Heckl, Structure-Borne Sound, 2nd ed., Springer 1988, table of materials: loss
factors in bending, order of magnitude.
Piping-code values of Young's modulus of carbon steel against temperature: 203.4 GPa at 21 degC,
198.6 at 93 degC, 208.2 at -73 degC (carbon below 0.3 %).
"""

import pytest

from modewright.materials.table import material_named

GPA, PPM = 1e9, 1e-6

MODULI = [
    ("brass C26000", 110.3, 117.0),
    ("phosphor bronze C51000", 103.0, 110.0),
    ("phosphor bronze C52100", 110.0, 110.0),
    ("nickel silver C77000", 117.0, 124.0),
    ("beryllium copper C17200", 128.0, 128.0),
    ("stainless 301", 193.0, 193.0),
    ("stainless 301 full hard", 174.0, 174.0),
    ("stainless 301 full hard stress relieved", 196.0, 196.0),
    ("stainless 304", 193.0, 193.0),
    ("aluminium 6061-T6", 68.9, 70.3),
    ("titanium Ti-6Al-4V", 105.0, 120.0),
    ("carbon spring steel", 190.0, 207.0),
]
OTHERS = [
    ("brass C26000", "density_kg_per_m3", 8530),
    ("brass C26000", "thermal_conductivity_w_per_m_per_k", 121),
    ("brass C26000", "expansion_per_k", 19.98 * PPM),
    ("brass C26000", "specific_heat_j_per_kg_per_k", 390),
    ("phosphor bronze C51000", "density_kg_per_m3", 8860),
    ("phosphor bronze C51000", "thermal_conductivity_w_per_m_per_k", 69),
    ("phosphor bronze C51000", "expansion_per_k", 17.8 * PPM),
    ("phosphor bronze C51000", "specific_heat_j_per_kg_per_k", 377),
    ("phosphor bronze C52100", "density_kg_per_m3", 8800),
    ("phosphor bronze C52100", "thermal_conductivity_w_per_m_per_k", 62),
    ("nickel silver C77000", "density_kg_per_m3", 8700),
    ("nickel silver C77000", "thermal_conductivity_w_per_m_per_k", 29),
    ("nickel silver C77000", "expansion_per_k", 16.7 * PPM),
    ("beryllium copper C17200", "thermal_conductivity_w_per_m_per_k", 84),
    ("beryllium copper C17200", "thermal_conductivity_w_per_m_per_k", 150),
    ("beryllium copper C17200", "density_kg_per_m3", 8250),
    ("stainless 301", "density_kg_per_m3", 7880),
    ("stainless 301", "expansion_per_k", 16.6 * PPM),
    ("stainless 301", "specific_heat_j_per_kg_per_k", 500),
    ("stainless 304", "density_kg_per_m3", 8000),
    ("aluminium 6061-T6", "thermal_conductivity_w_per_m_per_k", 167),
    ("aluminium 6061-T6", "expansion_per_k", 23.6 * PPM),
    ("titanium Ti-6Al-4V", "thermal_conductivity_w_per_m_per_k", 7.2),
    ("titanium Ti-6Al-4V", "expansion_per_k", 9.0 * PPM),
    ("titanium Ti-6Al-4V", "specific_heat_j_per_kg_per_k", 586),
    ("carbon spring steel", "density_kg_per_m3", 7800),
    ("carbon spring steel", "expansion_per_k", 12 * PPM),
    ("carbon spring steel", "thermal_conductivity_w_per_m_per_k", 50),
    ("carbon spring steel", "specific_heat_j_per_kg_per_k", 470),
]


def covers(constant, printed):
    return abs(printed - constant.value) <= abs(constant.value) * constant.spread * (1 + 1e-9)


@pytest.mark.parametrize(("name", "low", "high"), MODULI)
def test_youngs_modulus(name, low, high):
    modulus = material_named(name).youngs_modulus_pa
    assert covers(modulus, low * GPA)
    assert covers(modulus, high * GPA)


@pytest.mark.parametrize(("name", "key", "printed"), OTHERS)
def test_other_constants(name, key, printed):
    assert covers(getattr(material_named(name), key), printed)


def test_the_slips_of_one_sheet_are_not_copied():
    # It prints 112 GPa beside 16 Msi and 19.08 ppm/degC beside 11.1 ppm/degF.
    brass = material_named("brass C26000")
    assert brass.youngs_modulus_pa.value == pytest.approx(16 * 6.894757e9, rel=5e-3)
    assert brass.expansion_per_k.value == pytest.approx(11.1 * 1.8 * PPM, rel=5e-3)


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("aluminium 6061-T6", 1e-4),
        ("carbon spring steel", 6e-4),
        ("stainless 301", 6e-4),
        ("brass C26000", 1e-3),
        ("phosphor bronze C51000", 2e-3),
    ],
)
def test_loss_factor_stays_below_the_printed_one(name, printed):
    """Printed figures contain the thermoelastic part, which the tool counts by itself."""
    assert 0.01 * printed < material_named(name).loss_factor.value <= printed


@pytest.mark.parametrize(("cold", "warm", "kelvin"), [(208.2, 203.4, 94.0), (203.4, 198.6, 72.0)])
def test_drift_of_steel(cold, warm, kelvin):
    printed = (warm - cold) / 203.4 / kelvin
    drift = material_named("carbon spring steel").youngs_modulus_drift_per_k
    assert printed == pytest.approx(drift.value, rel=drift.spread + 0.02)
