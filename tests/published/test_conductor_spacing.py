"""Spacing of conductors by voltage.

IPC-2221, Generic Standard on Printed Board Design, table 6-1, electrical conductor spacing, columns
B2 (external conductors, uncoated, sea level to 3050 m) and B3 (uncoated, above 3050 m). Rows from
memory: the standard in force decides.
"""

import pytest

from modewright.errors import ModewrightError
from modewright.fabrication.board.clearance import ALTITUDES, clearance_m

LOW, HIGH = ALTITUDES


@pytest.mark.parametrize(
    ("volts", "low_mm", "high_mm"),
    [
        (0, 0.1, 0.1),
        (15, 0.1, 0.1),
        (30, 0.1, 0.1),
        (50, 0.6, 0.6),
        (100, 0.6, 1.5),
        (101, 0.6, 3.2),
        (150, 0.6, 3.2),
        (151, 1.25, 3.2),
        (170, 1.25, 3.2),
        (250, 1.25, 6.4),
        (300, 1.25, 12.5),
        (500, 2.5, 12.5),
    ],
)
def test_rows_of_the_table(volts, low_mm, high_mm):
    assert clearance_m(volts, LOW) == pytest.approx(low_mm * 1e-3)
    assert clearance_m(-volts, HIGH) == pytest.approx(high_mm * 1e-3)


@pytest.mark.parametrize("volts", [501.0, -1e4, float("nan")])
def test_beyond_the_table_nothing_is_promised(volts):
    with pytest.raises(ModewrightError, match="at most 500 V between conductors"):
        clearance_m(volts, LOW)
