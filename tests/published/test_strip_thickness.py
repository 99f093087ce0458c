"""Thickness of cold-rolled stainless narrow strip, and the pitch it implies.

ISO 9445, tolerances on the thickness of cold-rolled stainless narrow strip narrower than 125 mm, as
summarised by the British Stainless Steel Association ("Tolerances to ISO 9445 for cold rolled
narrow and wide strip, plate/sheet and cut lengths").
"""

from __future__ import annotations

import numpy as np
import pytest

from modewright.errors import ModewrightError
from modewright.tolerances.strip_thickness import STRIP_CLASSES, strip_limit_m

# Ordered thickness inside each band; normal, fine, precision. [mm]
TABLE_MM = [
    (0.08, (0.008, 0.0048, 0.0032)),
    (0.12, (0.010, 0.008, 0.006)),
    (0.18, (0.015, 0.010, 0.008)),
    (0.22, (0.015, 0.012, 0.008)),
    (0.28, (0.017, 0.012, 0.009)),
    (0.35, (0.020, 0.015, 0.010)),
]


@pytest.mark.parametrize(("thickness_mm", "limits_mm"), TABLE_MM)
def test_limits_of_every_class(thickness_mm: float, limits_mm: tuple[float, ...]) -> None:
    found = [strip_limit_m(thickness_mm * 1e-3, grade) * 1e3 for grade in STRIP_CLASSES]
    assert found == pytest.approx(limits_mm)


def test_bending_pitch_of_strip_at_its_limits() -> None:
    # A bar bends at a pitch in proportion to its thickness: 1731 cents per unit of relative change.
    cents = [1731 * strip_limit_m(t * 1e-3, "normal") / (t * 1e-3) for t in (0.22, 0.35)]
    exact = [1200 * np.log2(1 + x) for x in (0.015 / 0.22, 0.020 / 0.35)]
    assert cents == pytest.approx([118, 99], abs=1)
    assert cents == pytest.approx(exact, rel=0.04)


@pytest.mark.parametrize("thickness_mm", [0.03, 3.0, 12.0])
def test_strip_that_the_standard_does_not_have(thickness_mm: float) -> None:
    with pytest.raises(ModewrightError, match=r"0\.05 mm to below 3 mm"):
        strip_limit_m(thickness_mm * 1e-3, "fine")
