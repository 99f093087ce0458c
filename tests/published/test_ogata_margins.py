"""Ogata, Modern Control Engineering: the loop 1/(s(s+1)(s+2)) as worked example.

@book{ogata2010, author={K. Ogata}, title={Modern Control Engineering}, edition={5}, year={2010},
publisher={Prentice Hall}} - quoted from memory; the gain margin 6 at sqrt(2) rad/s is exact
(Routh), the phase margin 53.41 degrees at 0.44575 rad/s was checked by solving |L| = 1.
"""

import numpy as np
import pytest

from modewright.loop.margins import margins_from_response


def test_gain_and_phase_margin():
    omega = np.geomspace(0.01, 100, 20001)
    s = 1j * omega
    margins = margins_from_response(omega / (2 * np.pi), 1 / (s * (s + 1) * (s + 2)))
    assert margins.gain_db == pytest.approx(20 * np.log10(6), abs=1e-4)
    assert margins.gain_freq_hz * 2 * np.pi == pytest.approx(np.sqrt(2), rel=1e-4)
    assert margins.phase_deg == pytest.approx(53.4108, abs=2e-3)
    assert margins.phase_freq_hz * 2 * np.pi == pytest.approx(0.44575, rel=1e-4)
    assert margins.delay_s == pytest.approx(np.radians(53.4108) / 0.44575, rel=1e-3)
    assert margins.gain_reduction_db == np.inf
