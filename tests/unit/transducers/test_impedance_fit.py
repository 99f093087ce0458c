"""Fit of an impedance against impedances made here, with scatter added."""

import numpy as np
import pytest

from modewright.errors import TransducerError
from modewright.transducers.impedance_fit import fit_impedance

FREQ_HZ = np.geomspace(20.0, 20e3, 160)
TRUE = {
    "resistance_ohm": 180.0,
    "inductance_h": 9e-3,
    "semi_inductance_ohm_per_rthz": 0.8,
    "motional_resistance_ohm": 300.0,
    "resonance_hz": 1500.0,
    "mechanical_q": 12.0,
}


def _impedance(motional_ohm=300.0, scatter=0.0, seed=1, semi=0.8):
    """A mass of 30 mg on a spring, pushed by T i: T² s/(m s² + c s + k) beside R + s L + K √s."""
    s = 2j * np.pi * FREQ_HZ
    omega = 2 * np.pi * 1500.0
    mass = 3e-5
    friction = mass * omega / 12.0
    factor2 = motional_ohm * friction
    moving = factor2 * s / (mass * s**2 + friction * s + mass * omega**2)
    z = 180.0 + s * 9e-3 + semi * np.sqrt(s) + moving
    draws = np.random.default_rng(seed).normal(size=(2, len(s)))
    return z * (1 + scatter * (draws[0] + 1j * draws[1])), np.sqrt(factor2)


def test_clean_impedance_gives_its_figures():
    z, factor = _impedance()
    found = fit_impedance(FREQ_HZ, z, moving_mass_kg=3e-5)
    for key, value in TRUE.items():
        assert found.estimates[key].value == pytest.approx(value, rel=1e-5)
    assert found.estimates["force_factor_n_per_a"].value == pytest.approx(factor, rel=1e-5)
    assert found.misfit < 1e-6


def test_intervals_hold_the_truth_as_often_as_they_say():
    runs = 60
    hits = np.zeros(7)
    for seed in range(runs):
        z, factor = _impedance(scatter=0.01, seed=seed)
        found = fit_impedance(FREQ_HZ, z, moving_mass_kg=3e-5).estimates
        truth = [*TRUE.values(), factor]
        hits += [
            abs(one.value - value) < one.half_width
            for one, value in zip(found.values(), truth, strict=True)
        ]
    # 95 % of 60, and three standard errors of that share to either side.
    assert np.all(np.abs(hits / runs - 0.95) < 3 * np.sqrt(0.95 * 0.05 / runs) + 1e-9)


def test_held_part_shows_no_resonance_and_no_eddies():
    z, _ = _impedance(motional_ohm=0.0, scatter=0.01, semi=0.0)
    found = fit_impedance(FREQ_HZ, z, moving_mass_kg=3e-5)
    assert not found.has_resonance
    assert set(found.estimates) == set(list(TRUE)[:3])
    assert not found.estimates["semi_inductance_ohm_per_rthz"].is_told_from_zero
    assert found.estimates["resistance_ohm"].value == pytest.approx(180.0, rel=0.01)


def test_misfit_tells_where_a_second_resonance_is():
    z, _ = _impedance()
    s = FREQ_HZ / 6000.0
    second = z + 200.0 / (1 + 40j * (s - 1 / s))
    found = fit_impedance(FREQ_HZ, second)
    assert found.largest_misfit > 0.1
    assert found.largest_misfit_hz == pytest.approx(6000.0, rel=0.05)


@pytest.mark.parametrize(
    ("freq_hz", "impedance", "words"),
    [
        (FREQ_HZ[:5], np.full(5, 100.0 + 0j), "at least 12 frequencies, got 5"),
        (FREQ_HZ[::-1], np.full(160, 100.0 + 0j), "rising order"),
        (FREQ_HZ, np.full(160, -100.0 + 0j), "positive resistance.*-100 ohm at 20 Hz"),
    ],
)
def test_what_is_no_impedance_is_told(freq_hz, impedance, words):
    with pytest.raises(TransducerError, match=words):
        fit_impedance(freq_hz, impedance)
