"""Thin plates: frequency parameters λ = ω a² sqrt(ρ h/D).

Sources
-------
A. W. Leissa, The free vibration of rectangular plates, J. Sound Vib. 31 (1973) 257-293, table C1
(all edges clamped; from memory) and cases of free edges. Printed values are upper bounds, 0.02 to
1 % high; converged recomputations (Ritz, 16 x 16 Legendre polynomials) give the tighter values.
A. W. Leissa, Vibration of Plates, NASA SP-160, 1969, table 2.1 (clamped disc; from memory).
"""

import numpy as np
import pytest

from modewright.geometry.loop import Loop
from modewright.materials.solid import IsotropicSolid
from modewright.modes.solid import solve_modes
from sheet_blanks import sheet, square

METAL = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.3, density_kg_per_m3=8000)

# Thin-plate theory leaves out the shear within about a thickness of free edges, which lowers the
# frequencies of twisting modes by the order of thickness over side, here 1/200.
SHEAR_OF_FREE_EDGES = 3e-3


def parameters(blank, size_m, count):
    freq = solve_modes(blank, METAL, count=count, accuracy="normal").freq_hz
    stiffness = METAL.plate_modulus_pa * blank.thickness_m**2 / 12
    return 2 * np.pi * freq * size_m**2 * np.sqrt(METAL.density_kg_per_m3 / stiffness)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("held", "printed", "converged"),
    [
        (
            (0, 1, 2, 3),
            [35.992, 73.413, 73.413, 108.27, 131.64, 132.24],
            [35.9852, 73.3938, 73.3938, 108.2165, 131.5808, 132.2048],
        ),
        (
            (3,),
            [3.4917, 8.5246, 21.429, 27.331, 31.111, 54.443],
            [3.4710, 8.5065, 21.2846, 27.1988, 30.9555, 54.1859],
        ),
        (
            (),
            [13.489, 19.789, 24.432, 35.024, 35.024, 61.526],
            [13.4682, 19.5961, 24.2702, 34.8009, 34.8009, 61.0932],
        ),
    ],
)
def test_square_plates(held, printed, converged):
    found = parameters(square(0.2, 0.001, held), 0.2, 6)
    assert found == pytest.approx(printed, rel=1.2e-2)
    assert found == pytest.approx(converged, rel=SHEAR_OF_FREE_EDGES if len(held) < 4 else 1e-3)


@pytest.mark.slow
def test_clamped_disc():
    # Held edges are straight: a polygon of 48 sides with the area of the disc.
    printed = [10.2158, 21.2604, 21.2604, 34.8770, 34.8770, 39.7711]
    edge = [(0.1 * np.cos(t), 0.1 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 49)]
    held = [[edge[i], edge[i + 1]] for i in range(48)]
    outer = Loop.polygon(edge[:-1])
    area = 48 / 2 * np.sin(2 * np.pi / 48) * 0.1**2
    found = parameters(sheet(outer, 0.001, held=held), np.sqrt(area / np.pi), 6)
    assert found == pytest.approx(printed, rel=3e-3)
