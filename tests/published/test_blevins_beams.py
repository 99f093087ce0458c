"""Frequency equations of slender beams.

Sources
-------
R. D. Blevins, Formulas for Natural Frequency and Mode Shape, Van Nostrand 1979, table 8-1
(uniform beams) and table 8-10 (tapered cantilevers; first solved by G. Kirchhoff, 1879).
N. H. Fletcher and T. D. Rossing, The Physics of Musical Instruments, 2nd ed., sec. 2.15: overtones
of a free bar.
Frequency Equation of Flexural Vibrating Cantilever Beam Considering the Rotary Inertial Moment of
an Attached Mass, Math. Probl. Eng. 2017, article 1568019, table 1, last column: tip mass.
T. D. Rossing, D. A. Russell and D. E. Brown, On the acoustics of tuning forks, Am. J. Phys. 60
(1992) 620-626.
"""

import numpy as np
import pytest

from modewright.materials.solid import IsotropicSolid
from modewright.modes.closed_form import beam_roots, fork_freq_hz, tip_mass_roots
from modewright.modes.closed_form_sections import taper_roots


@pytest.mark.parametrize(
    ("ends", "roots"),
    [
        (
            "clamped-free",
            [1.87510407, 4.69409113, 7.85475744, 10.99554073, 14.13716839, 17.27875953],
        ),
        ("free-free", [4.73004074, 7.85320462, 10.99560784, 14.13716549, 17.27875966]),
        ("clamped-clamped", [4.73004074, 7.85320462, 10.99560784, 14.13716549, 17.27875966]),
        ("clamped-pinned", [3.92660231, 7.06858275, 10.21017612, 13.35176878]),
    ],
)
def test_uniform_beams(ends, roots):
    np.testing.assert_allclose(beam_roots(ends, len(roots)), roots, rtol=1e-8)


def test_overtones_of_a_thin_free_bar():
    ratios = (beam_roots("free-free", 5) / beam_roots("free-free", 1)) ** 2
    np.testing.assert_allclose(ratios, [1, 2.75654, 5.40392, 8.93295, 13.34429], rtol=2e-6)


def test_tip_mass_as_heavy_as_the_beam():
    published = [1.557298, 16.25009, 50.89584, 105.1983, 179.2320]
    np.testing.assert_allclose(tip_mass_roots(1.0, 5) ** 2, published, rtol=1e-5)


@pytest.mark.parametrize(
    ("width_tapers", "published"),
    [(False, [5.315, 15.207, 30.020]), (True, [8.719, 21.146, 38.454])],
)
def test_tapered_cantilevers(width_tapers, published):
    np.testing.assert_allclose(taper_roots(3, width_tapers=width_tapers), published, rtol=5e-5)


def test_tuning_fork():
    unit = IsotropicSolid(youngs_modulus_pa=1.0, poisson_ratio=0.3, density_kg_per_m3=1.0)
    assert fork_freq_hz(unit, 1.0, 1.0) == pytest.approx(0.161538, rel=1e-4)
    assert fork_freq_hz(unit, 1.0, 1.0) == pytest.approx(0.162, rel=5e-3)
    first, second = beam_roots("clamped-free", 2)
    assert (second / first) ** 2 == pytest.approx(6.26689, rel=1e-5)
