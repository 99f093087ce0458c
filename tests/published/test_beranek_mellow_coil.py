"""Moving coil: damping by a closed circuit and motional resistance.

L. L. Beranek and T. J. Mellow, Acoustics: Sound Fields, Transducers and Vibration, ch. 6, evaluated
for Bl = 5 N/A, R = 6.4 ohm, R_ms = 1.5 N s/m: (Bl)²/R = 3.90625 N s/m, (Bl)²/R_ms = 16.667 ohm.
"""

import numpy as np
import pytest

from modewright.transducers.coil import Coil
from modewright.transducers.mover import TwoPort

FORCE_FACTOR, RESISTANCE_OHM, FRICTION = 5.0, 6.4, 1.5


def _stiffness(freq_hz):
    coil = Coil(resistance_ohm=RESISTANCE_OHM, inductance_h=0.0, semi_inductance_ohm_per_rthz=0.0)
    port = TwoPort(coil=coil, force_factor_n_per_a=FORCE_FACTOR, mover=None)
    return port.stiffness_n_per_m(np.array([freq_hz]), is_closed=True)[0]


def test_shorted_coil_damps():
    stiffness = _stiffness(100.0)
    assert stiffness.imag / (2 * np.pi * 100.0) == pytest.approx(3.90625, rel=1e-6)
    assert abs(stiffness.real) < 1e-6 * stiffness.imag


def test_motional_resistance_at_resonance():
    # At resonance only friction resists: v = Bl i/R_ms, so that the voltage is (Bl)²/R_ms i. The
    # circuit sees R + R_mot; the same current follows from friction with the coil's damping added.
    damping = _stiffness(100.0).imag / (2 * np.pi * 100)
    velocity_per_volt = (FORCE_FACTOR / RESISTANCE_OHM) / (FRICTION + damping)
    current_per_volt = velocity_per_volt * FRICTION / FORCE_FACTOR
    assert 1 / current_per_volt - RESISTANCE_OHM == pytest.approx(16.667, rel=3e-5)
