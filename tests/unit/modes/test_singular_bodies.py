"""Bodies with sharp notches, thick stock, part-held sides, jaws and deep steps, by other elements.

The figures are those of hexahedra of order 4 of the finite-element library (its own spaces, forms
and quadrature, none of ours), on boxes that shrink fivefold three times towards every notch, step
and end of a hold, and twice towards faces and held edges; steel, first ten modes. Those of order 3
on the same boxes lie 0.1 to 1 cent higher, 3 for high modes of the thinned strips. The ninth mode
of the strip in jaws was solved again on ten boxes along its free length, graded towards the jaws:
the first figure lay 3 cents higher, and above conforming elements of three orders, which are upper
bounds.
"""

import numpy as np
import pytest

from modewright.geometry.blank import Pocket
from modewright.geometry.loop import Loop
from modewright.modes.solid import solve_modes
from sheet_blanks import STEEL, rectangle, sheet, strip

MM = 1e-3
# Of the figures themselves.
REFERENCE_CENTS = 0.3


def outline(corners_mm):
    return Loop.polygon(MM * np.array(corners_mm, dtype=float))


def held(start_mm, end_mm):
    return [[MM * np.array(start_mm, dtype=float), MM * np.array(end_mm, dtype=float)]]


def thinned(start_mm, end_mm, side):
    return Pocket(
        loop=rectangle(MM * start_mm, -8 * MM, MM * end_mm, 8 * MM), thickness_m=0.3 * MM, side=side
    )


THICK = {
    "fork on a stem, 8 mm": (
        sheet(
            outline([
                (0, -5), (40, -5), (40, -12), (120, -12), (120, -4), (46, -4), (46, 4), (120, 4),
                (120, 12), (40, 12), (40, 5), (0, 5),
            ]),
            8 * MM, held=held((0, -5), (0, 5)),
        ),
        [357.5953, 420.8988, 849.2554, 868.9433, 2465.828,
         2593.964, 3433.246, 5488.635, 6791.229, 6901.773],
    ),
    "free fork, 6 mm": (
        sheet(
            outline([
                (0, -10), (100, -10), (100, -3), (22, -3), (22, 3), (100, 3), (100, 10), (0, 10),
            ]),
            6 * MM,
        ),
        [822.2246, 896.7773, 2874.121, 2976.012, 4686.010,
         5015.149, 7699.723, 7905.455, 8450.154, 9553.815],
    ),
    "block held along a part of a side": (
        sheet(outline([(0, 0), (50, 0), (50, 20), (0, 20)]), 6 * MM, held=held((10, 0), (25, 0))),
        [4314.89, 8245.594, 8355.191, 13033.78, 20228.08,
         23038.36, 28472.24, 37183.01, 37646.55, 43922.69],
    ),
    "L, 8 mm": (
        sheet(
            outline([(0, 0), (60, 0), (60, 15), (15, 15), (15, 45), (0, 45)]), 8 * MM,
            held=held((0, 45), (15, 45)),
        ),
        [1087.878, 1924.66, 2897.922, 5285.329, 10083.85,
         11445.91, 16901.02, 19638.13, 25954.74, 26975.33],
    ),
    "stout bar": (
        strip(50 * MM, 10 * MM, 8 * MM),
        [2524.6, 3119.506, 13875.42, 14271.86, 16838.73,
         24822.72, 35342.02, 40181.66, 41623.98, 60617.04],
    ),
}  # fmt: skip
THIN = {
    "strip thinned to 0.3 in the middle": (
        strip(60 * MM, 10 * MM, MM, pockets=(thinned(15, 25, "top"),)),
        [77.27755, 1007.813, 1039.002, 1717.659, 3419.075,
         4918.467, 8338.328, 10288.72, 10459.93, 12195.07],
    ),
    "strip thinned to 0.3 at its root": (
        strip(60 * MM, 10 * MM, MM, pockets=(thinned(-1, 12, "bottom"),)),
        [47.34478, 792.7764, 814.8432, 1372.769, 2445.008,
         5774.672, 6139.793, 9912.396, 10332.0, 11742.0],
    ),
    "strip in jaws": (
        sheet(
            outline([(0, -6), (80, -6), (80, 6), (0, 6)]), MM,
            areas=[rectangle(-MM, -8 * MM, 15 * MM, 8 * MM)],
        ),
        [190.0547, 1188.912, 2001.38, 2193.758, 3328.617,
         6102.065, 6525.231, 10485.71, 10779.95, 12092.02],
    ),
    "plate held along a part of a side": (
        sheet(outline([(0, 0), (70, 0), (70, 30), (0, 30)]), MM, held=held((20, 0), (45, 0))),
        [573.9283, 692.9372, 1244.12, 2101.131, 2896.956,
         3993.32, 5682.908, 6270.787, 6575.266, 7646.914],
    ),
}  # fmt: skip


def deviations(blank, expected_hz, accuracy):
    modes = solve_modes(blank, STEEL, count=12, accuracy=accuracy)
    cents = 1200 * np.log2(modes.freq_hz[:10] / np.array(expected_hz))
    assert np.all(np.abs(cents) <= modes.error_cents[:10] + REFERENCE_CENTS)
    return np.abs(cents)


@pytest.mark.parametrize("body", THICK)
def test_thick_bodies_are_within_ten_cents_and_their_estimate(body):
    assert deviations(*THICK[body], "normal").max() < 10


@pytest.mark.slow
@pytest.mark.parametrize("body", THIN)
def test_steps_and_holds_are_within_ten_cents_and_their_estimate(body):
    assert deviations(*THIN[body], "normal").max() < 10


@pytest.mark.slow
@pytest.mark.parametrize("body", [*THICK, "strip in jaws", "plate held along a part of a side"])
def test_fine_is_within_two_cents_and_its_estimate(body):
    assert deviations(*{**THICK, **THIN}[body], "fine").max() < 2
