"""A bar that only lies there against statics by hand.

A plain bar of 200 by 30 by 3 mm, density 7900 kg/m³, with a disc of iron under its pole.
"""

import numpy as np
import pytest

from modewright.chain.body import analyse_placed
from modewright.chain.hearing import operating_point_of
from modewright.chain.places import place_design
from modewright.design.load import parse_design
from modewright.errors import TransducerError

BAR = """
[material]
name = "stainless 301 half hard"
[stock]
thickness = "3 mm"
[resonator]
kind = "bar"
length = "200 mm"
width = "30 mm"
[support]
{support}
[[pickups]]
kind = "capacitive"
gap = "1 mm"
bias = "{bias}"
[pickups.plate]
kind = "rectangle"
centre = ["100 mm", "0 mm"]
length = "40 mm"
width = "25 mm"
[[drivers]]
kind = "biased electromagnet"
name = "magnet"
position = ["{x} mm", "0 mm"]
pole_diameter = "8 mm"
iron_gap = "2 mm"
bias_flux_density = "{flux} T"
[drivers.armature]
diameter = "8 mm"
thickness = "1 mm"
[electronics.amplifier]
kind = "current"
"""
FREE = 'kind = "free"'
NODAL = 'kind = "nodal supports"\nfrom_ends = "50 mm"'
WEIGHT_N = 9.80665 * (7900 * 0.2 * 0.03 * 0.003 + 7870 * np.pi * 0.004**2 * 0.001)
AREA_M2 = np.pi * 0.004**2


def rest(support, flux_t, x_mm=100, bias="20 V"):
    text = BAR.format(support=support, flux=flux_t, x=x_mm, bias=bias)
    placed = place_design(parse_design(text.encode(), folder=".").design, ".")
    body = analyse_placed(placed, count=4, accuracy="draft")
    return operating_point_of(placed.design, body)


def flux_t(pull_n):
    """B of a pull B² A/(2 µ0)."""
    return np.sqrt(pull_n * 8e-7 * np.pi / AREA_M2)


@pytest.mark.parametrize("support", [FREE, NODAL])
def test_a_magnet_lifts_what_weighs_less(support):
    found = rest(support, flux_t(0.99 * WEIGHT_N))
    assert found.at_rest[1].pull_n == pytest.approx(0.99 * WEIGHT_N, rel=1e-3)
    with pytest.raises(TransducerError, match=r"weight of the body, 1\.39 N.*lifts off"):
        rest(support, flux_t(1.01 * WEIGHT_N))


def test_where_a_free_body_rests_is_not_known():
    for gap in rest(FREE, 0.1).at_rest:
        assert (gap.closure_m, gap.critical_bias, gap.margin) == (None, None, None)
    assert rest(FREE, 0.1).coordinate == pytest.approx(0)


def test_a_magnet_beyond_a_support_tips_the_bar():
    # Supports at 50 and 150 mm, the disc's weight and the pull at 10 mm: about the far support
    # the bar's weight has an arm of 50 mm, the disc's and the pull's 140 mm.
    disc_n = 9.80665 * 7870 * AREA_M2 * 0.001
    tips_n = (WEIGHT_N - disc_n) * 50 / 140 + disc_n
    assert tips_n < 0.4 * WEIGHT_N
    rest(NODAL, flux_t(0.97 * tips_n), x_mm=10)
    with pytest.raises(TransducerError, match="tips it off") as caught:
        rest(NODAL, flux_t(1.03 * tips_n), x_mm=10)
    assert caught.value.key == "drivers[1].bias_flux_density"


def test_pads_that_give_way_hold_nothing_down():
    pads = NODAL + '\nstiffness = "1e9 N/m**3"\nshear_ratio = 1.0'
    with pytest.raises(TransducerError, match="lifts off"):
        rest(pads, flux_t(1.05 * WEIGHT_N))


def test_a_magnet_below_or_a_held_bar_stays():
    rest(FREE + "\n", 0.05)
    rest('kind = "clamped"', flux_t(2 * WEIGHT_N))
