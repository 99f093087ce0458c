"""Pull of a pole face, F = B² A/(2 µ0).

H. H. Woodson and J. R. Melcher, Electromechanical Dynamics, 1968, ch. 3, evaluated.
"""

import numpy as np
import pytest

from modewright.transducers.gap import MU_0, BiasedGap, Gap


@pytest.mark.parametrize(("flux_density_t", "pull_n"), [(1.0, 39.789), (0.5, 9.947)])
def test_pull_of_one_square_centimetre(flux_density_t, pull_n):
    gap_m = 1e-3
    gap = Gap(
        weight_m2=np.array([1e-4]),
        gap_m=np.array([gap_m]),
        opening=np.array([[1.0]]),
        per_m=MU_0,
    )
    biased = BiasedGap(name="pole", gap=gap, bias=flux_density_t * gap_m / MU_0)
    assert biased.pull_n == pytest.approx(pull_n, rel=5e-5)
    # At constant magnetomotive force the gap is a spring of -2 F/g.
    assert biased.stiffness[0, 0] == pytest.approx(-2 * biased.pull_n / gap_m, rel=1e-12)
