"""Cantilevers of tapering thickness against the beam equation.

Downs, B.: Transverse vibrations of cantilever beams having unequal breadth and depth tapers.
Journal of Applied Mechanics 44 (1977), 737-742. Values from memory; a beam of 200 Hermite elements
gives them to all digits shown. The wedge that ends in an edge has 5.315 (Kirchhoff 1879; Blevins,
Formulas for Natural Frequency and Mode Shape, 1979, table 8-10; from memory).
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from modewright.geometry.families.bar import Bar
from modewright.modes.solid import solve_modes
from sheet_blanks import SLENDER, strip

LENGTH, WIDTH, THICKNESS = 0.1, 2e-3, 1e-3

# ω L² sqrt(ρ A/(E I)) of the root's section, for the thickness at the tip over that at the root.
TABLE = {0.5: (3.8238, 18.3173), 0.2: (4.2925, 15.7427), 0.1: (4.6307, 14.9308)}


@pytest.mark.parametrize("ratio", list(TABLE))
def test_bending_of_a_wedge(ratio):
    shape = Bar(length_m=LENGTH, width_m=WIDTH, taper_depth_m=(1 - ratio) * THICKNESS)
    relief = shape.sketch(Path()).relief
    modes = solve_modes(
        replace(strip(LENGTH, WIDTH, THICKNESS), relief=relief), SLENDER, count=5, accuracy="normal"
    )
    bending = [
        f for f, n in zip(modes.freq_hz, modes.labels, strict=True) if n.startswith("bending")
    ]
    unit = THICKNESS * np.sqrt(SLENDER.youngs_modulus_pa / SLENDER.density_kg_per_m3 / 12)
    found = np.array(bending[:2]) * 2 * np.pi * LENGTH**2 / unit
    # Shear and rotary inertia, which the beam equation leaves out, take up to 0.1 %.
    assert found == pytest.approx(TABLE[ratio], rel=1.5e-3)
