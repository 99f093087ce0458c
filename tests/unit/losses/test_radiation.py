"""Interference of dipoles against the spherical Bessel functions of a general library."""

import numpy as np
from scipy.special import spherical_jn

from modewright.losses.radiation import _interference


def test_interference_is_that_of_spherical_bessel_functions():
    # SciPy's spherical_jn, which sums by recurrence and not by the closed form.
    kr = np.concatenate([np.geomspace(1e-4, 60, 3001), [0.1, np.nextafter(0.1, 0)]])
    across, along = _interference(kr)
    np.testing.assert_allclose(across, 3 * spherical_jn(1, kr) / kr, atol=1e-10)
    np.testing.assert_allclose(along, 3 * spherical_jn(2, kr), rtol=1e-9, atol=1e-12)


def test_dipoles_in_one_place_add_up():
    across, along = _interference(np.zeros(1))
    assert (across[0], along[0]) == (1.0, 0.0)
