"""Laws that beams in closed form obey."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modewright.materials.solid import IsotropicSolid
from modewright.modes.closed_form import beam_roots, strip_freq_hz, tip_mass_roots
from modewright.modes.closed_form_sections import torsion_constant_m4, torsion_freq_hz
from modewright.modes.closed_form_timoshenko import BeamSection, beam_freq_hz

STEEL = IsotropicSolid(youngs_modulus_pa=207e9, poisson_ratio=0.29, density_kg_per_m3=7860)
sizes = st.floats(1e-3, 1.0)


@given(sizes, sizes, st.floats(0.5, 2.0))
def test_strip_follows_thickness_over_length_squared(length_m, thickness_m, scale):
    roots = beam_roots("clamped-free", 3)
    one = strip_freq_hz(roots, STEEL, length_m, thickness_m)
    other = strip_freq_hz(roots, STEEL, length_m * scale, thickness_m * scale**2)
    np.testing.assert_allclose(other, one, rtol=1e-12)


@given(st.floats(0.0, 100.0))
@settings(max_examples=30)
def test_tip_mass_lies_between_a_bare_and_a_pinned_tip(mass_ratio):
    roots = tip_mass_roots(mass_ratio, 4)
    bare, pinned = beam_roots("clamped-free", 4), beam_roots("clamped-pinned", 3)
    assert np.all(roots <= bare + 1e-9)
    assert np.all(roots[1:] >= pinned - 1e-9)


def test_light_tip_mass_adds_four_times_its_share():
    # Rayleigh: a clamped strip has a modal mass of a quarter of its own, referred to its tip.
    change = tip_mass_roots(1e-5, 1)[0] ** 2 / beam_roots("clamped-free", 1)[0] ** 2 - 1
    assert change == pytest.approx(-2e-5, rel=1e-3)


@pytest.mark.parametrize(
    ("ends", "slender"),
    [
        (("clamped", "free"), "clamped-free"),
        (("free", "free"), "free-free"),
        (("clamped", "clamped"), "clamped-clamped"),
        (("clamped", "pinned"), "clamped-pinned"),
        (("pinned", "pinned"), "pinned-pinned"),
    ],
)
def test_stout_beam_becomes_slender_as_the_square_of_thickness(ends, slender):
    errors = []
    for thickness_m in (0.01, 0.005):
        section = BeamSection.rectangle(0.02, thickness_m, 5 / 6)
        stout = beam_freq_hz(ends, STEEL, section, 1.0, 3)
        thin = strip_freq_hz(beam_roots(slender, 3), STEEL, 1.0, thickness_m)
        errors.append(1 - stout / thin)
    order = np.log2(errors[0] / errors[1])
    np.testing.assert_allclose(order, 2.0, atol=0.03)
    assert np.all(np.array(errors) > 0)


def test_high_modes_keep_their_accuracy():
    section = BeamSection.rectangle(0.1, 0.002, 5 / 6)
    found = beam_freq_hz(("free", "free"), STEEL, section, 1.0, 25)
    thin = strip_freq_hz(beam_roots("free-free", 25), STEEL, 1.0, 0.002)
    assert np.all(np.diff(found) > 0)
    np.testing.assert_allclose(found, thin, rtol=0.02)


@given(st.floats(1.0, 50.0))
def test_torsion_constant_lies_between_square_and_thin_strip(ratio):
    k1 = torsion_constant_m4(ratio, 1.0) / ratio
    assert 0.1405 < k1 < 1 / 3


def test_torsion_of_a_clamped_bar_is_odd_quarter_waves():
    found = torsion_freq_hz(STEEL, 0.01, 0.001, 0.06, 3)
    np.testing.assert_allclose(found / found[0], [1, 3, 5])
    # Thin strip: J -> w t³/3 and I_p -> t w³/12, so that the speed is 2 t/w sqrt(G/ρ).
    speed = 2 * 0.1 * (STEEL.shear_modulus_pa / 7860) ** 0.5
    assert found[0] == pytest.approx(speed / (4 * 0.06), rel=0.04)


def test_refuses_more_modes_than_the_theory_has():
    section = BeamSection.rectangle(0.1, 0.1, 5 / 6)
    with pytest.raises(ValueError, match=r"expected at most \d+ modes below \d+ Hz, got 30"):
        beam_freq_hz(("free", "free"), STEEL, section, 0.3, 30)


def test_refuses_a_negative_tip_mass():
    with pytest.raises(ValueError, match="mass_ratio: expected 0 or above, got -1"):
        tip_mass_roots(-1.0, 2)
