"""Decay time, loss factor and quality factor.

Source
------
L. Cremer and M. Heckl, Structure-Borne Sound, 2nd ed., Springer 1988, ch. III: T = 2.2/(f η).
The exact constant is 3 ln 10/π = 2.1988.
"""

import math

import pytest

from modewright.decay import t60_s_from_q


@pytest.mark.parametrize(
    ("q", "freq_hz", "t60_s"), [(1000.0, 440.0, 4.9973), (5000.0, 261.6256, 42.022)]
)
def test_t60_of_a_quality_factor(q, freq_hz, t60_s):
    assert float(t60_s_from_q(q, freq_hz)) == pytest.approx(t60_s, rel=1e-4)


def test_printed_constant_is_the_rounded_one():
    constant = float(t60_s_from_q(1.0, 1.0))
    assert constant == pytest.approx(3 * math.log(10) / math.pi, rel=1e-12)
    assert constant == pytest.approx(2.2, rel=1e-3)
