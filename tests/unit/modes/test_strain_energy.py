"""Energy from strains: the matrix's where that can be trusted, and thin sheet where it cannot."""

import numpy as np
import pytest

from modewright.geometry.blank import Pocket
from modewright.modes.solid import solve_body, solve_modes
from modewright.modes.strain_energy import accurate_modes
from sheet_blanks import STEEL, rectangle, sheet, strip

POCKET = Pocket(loop=rectangle(0.02, -0.01, 0.03, 0.01), thickness_m=0.6e-3, side="bottom")
THICK = {
    "clamped": strip(0.06, 0.01, 1e-3),
    "free": strip(0.06, 0.01, 1e-3, is_held=False),
    "pocket": strip(0.06, 0.01, 1e-3, pockets=(POCKET,)),
    "springs": strip(0.06, 0.01, 1e-3, stiffness=3e12, shear_ratio=0.3),
}


@pytest.mark.parametrize("body", THICK)
def test_gives_the_frequencies_of_the_matrix_where_these_are_not_round_off(body):
    _, found = solve_body(THICK[body], STEEL, count=6, accuracy="draft")
    # What it is told of frequencies is a scale only.
    omega2, shapes = accurate_modes(found.system, STEEL, 1.1 * found.omega2, found.shapes)
    assert omega2 == pytest.approx(found.omega2, rel=1e-6)
    overlap = np.abs(np.sum(shapes * found.shapes, axis=(0, 1, 2)))
    assert overlap == pytest.approx(np.sum(found.shapes**2, axis=(0, 1, 2)), rel=1e-5)


@pytest.mark.slow
@pytest.mark.parametrize("is_held", [True, False])
def test_frequencies_of_thin_sheet_rise_with_its_thickness(is_held):
    # Thin-plate theory: in proportion. Shear lowers what is thicker by a small share of thickness
    # over width, which halves from pair to pair; bending by less than torsion.
    length, per_thickness = 0.4, []
    for thickness in (0.8e-3, 0.4e-3, 0.2e-3):
        blank = strip(length, length / 4, thickness, is_held=is_held)
        modes = solve_modes(blank, STEEL, count=6, accuracy="normal")
        per_thickness.append(modes.freq_hz / thickness)
    first, second = 1200 * np.log2(np.array(per_thickness[1:]) / np.array(per_thickness[:-1]))
    assert second.min() > 0
    assert second.max() < 2
    assert second == pytest.approx(first / 2, rel=0.1, abs=0.03)


def test_sheet_two_thousand_times_as_long_as_thick_is_a_plate():
    # Wide strip: first bending of 400 mm with 0.2 mm lies where 200 mm with 0.2 mm puts it.
    short, long = (
        solve_modes(
            sheet(rectangle(0, 0, side, side / 4), 0.2e-3, held=[[(0, 0), (0, side / 4)]]), STEEL,
            count=4, accuracy="normal",
        ).freq_hz * side**2
        for side in (0.2, 0.4)
    )  # fmt: skip
    assert 1200 * np.log2(long[0] / short[0]) == pytest.approx(0.0, abs=0.15)
