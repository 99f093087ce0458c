"""Thin plates: frequency parameters λ = ω a² sqrt(ρ h/D).

Sources
-------
A. W. Leissa, The free vibration of rectangular plates, J. Sound Vib. 31 (1973) 257-293, tables of
squares and of cantilevers (from memory). Printed values are Ritz upper bounds, up to 1 % high;
what they mean is computed again here with conforming quintic triangles of another library.
W. Ritz, Ann. Phys. 28 (1909) 737, as in the plate table of C. M. Harris, Shock and Vibration
Handbook: free square with B = 4.07, 5.94, 6.91, 10.39, 17.80, λ = B sqrt(12). They hold for a
Poisson ratio of about 0.225, not 0.3.
"""

import numpy as np
import pytest

from modewright.geometry.loop import Loop
from modewright.materials.solid import IsotropicSolid
from modewright.modes.solid import solve_modes
from sheet_blanks import rectangle, sheet, square
from thin_plate import frequency_parameters, quadrilateral, triangle

METAL = IsotropicSolid(youngs_modulus_pa=200e9, poisson_ratio=0.3, density_kg_per_m3=8000)
QUARTZ = IsotropicSolid(youngs_modulus_pa=70e9, poisson_ratio=0.225, density_kg_per_m3=2200)
SIDE_M = 0.2

# Thin-plate theory leaves out the shear within about a thickness of free edges, which lowers the
# frequencies of twisting modes by the order of thickness over side, here 1/200.
SHEAR_OF_FREE_EDGES = 3e-3

BOTTOM, RIGHT, TOP, LEFT = ("y", 0.0), ("x", 1.0), ("y", 1.0), ("x", 0.0)
EDGES = (BOTTOM, RIGHT, TOP, LEFT)  # in the order of the sides of `square`
UNIT = [(0, 0), (1, 0), (1, 1), (0, 1)]


def parameters(blank, count, material=METAL, accuracy="normal"):
    freq = solve_modes(blank, material, count=count, accuracy=accuracy).freq_hz
    stiffness = material.plate_modulus_pa * blank.thickness_m**2 / 12
    return 2 * np.pi * freq * SIDE_M**2 * np.sqrt(material.density_kg_per_m3 / stiffness)


def cantilever(corners, thickness_m=SIDE_M / 200):
    """A plate of unit size, held along x = 0 between its first and last corner."""
    scaled = [(SIDE_M * x, SIDE_M * y) for x, y in corners]
    return sheet(Loop.polygon(scaled), thickness_m, held=[[scaled[-1], scaled[0]]])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("held", "printed"),
    [
        ((0, 1, 2, 3), [35.992, 73.413, 73.413, 108.27, 131.64, 132.24]),
        ((0, 1, 3), [24.020, 40.039, 63.493, 76.761, 80.713, 116.80]),
        ((1, 3), [22.272, 26.529, 43.664, 61.466, 67.549, 79.904]),
        ((0, 3), [6.942, 24.034, 26.681, 47.785, 63.039, 65.833]),
        ((3,), [3.4917, 8.5246, 21.429, 27.331, 31.111, 54.443]),
        ((), [13.489, 19.789, 24.432, 35.024, 35.024, 61.526]),
    ],
    ids=["all edges", "three", "opposite", "adjacent", "one", "none"],
)
def test_square_plates(held, printed):
    meant = frequency_parameters(quadrilateral(UNIT, 8), [EDGES[i] for i in held], 0.3, 6)
    assert np.all(meant < np.array(printed) * 1.0005)
    assert meant == pytest.approx(printed, rel=1.2e-2)
    found = parameters(square(SIDE_M, SIDE_M / 200, held), 6)
    assert found == pytest.approx(meant, rel=SHEAR_OF_FREE_EDGES if len(held) < 4 else 1e-3)


@pytest.mark.slow
def test_what_is_left_is_the_shear_of_free_edges():
    """It goes with the thickness: taken to none, the solid is the thin plate."""
    meant = frequency_parameters(quadrilateral(UNIT, 8), [], 0.3, 5)
    thick, thin = (parameters(square(SIDE_M, SIDE_M / n), 5, accuracy="fine") for n in (100, 200))
    assert np.all(thick < thin * 1.0001)
    assert 2 * thin - thick == pytest.approx(meant, rel=5e-4)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("length_over_width", "printed"),
    [
        (0.4, [3.511, 4.786, 8.115, 13.882, 21.638, 23.731]),
        (2.5, [3.456, 17.988, 21.563, 57.458, 60.581, 106.54]),
    ],
)
def test_wide_and_long_cantilevers(length_over_width, printed):
    corners = [(0, 0), (1, 0), (1, 1 / length_over_width), (0, 1 / length_over_width)]
    meant = frequency_parameters(quadrilateral(corners, 8), [LEFT], 0.3, 6)
    assert np.all(meant < printed)
    assert meant == pytest.approx(printed, rel=3e-2)
    assert parameters(cantilever(corners), 6) == pytest.approx(meant, rel=2 * SHEAR_OF_FREE_EDGES)


@pytest.mark.slow
@pytest.mark.parametrize("degrees", [15, 30, 45])
def test_skew_cantilevers(degrees):
    """Rhombus with one side held, as in Leissa, SP-160, sec. 5.2; no printed figures used."""
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    corners = [(0, 0), (cos, sin), (cos, 1 + sin), (0, 1)]
    meant = frequency_parameters(quadrilateral(corners, 12), [LEFT], 0.3, 5)
    assert parameters(cantilever(corners), 5) == pytest.approx(meant, rel=4e-3)


@pytest.mark.slow
@pytest.mark.parametrize(
    "corners",
    [[(0, 0), (1, 0), (0, 1)], [(0, -0.5), (1, 0), (0, 0.5)], [(0, -0.25), (1, 0), (0, 0.25)]],
    ids=["right", "stout", "slim"],
)
def test_triangular_cantilevers(corners):
    """Held along one side, as in Leissa, SP-160, sec. 7; no printed figures used."""
    meant = frequency_parameters(triangle(corners, 4), [LEFT], 0.3, 5)
    assert parameters(cantilever(corners), 5) == pytest.approx(meant, rel=5e-3)


def test_handbook_figures_of_the_free_square_are_for_another_poisson_ratio():
    printed = np.array([4.07, 5.94, 6.91, 10.39, 10.39]) * np.sqrt(12)
    assert parameters(square(SIDE_M, SIDE_M / 200), 5, QUARTZ) == pytest.approx(printed, rel=1.2e-2)
    steel = parameters(square(SIDE_M, SIDE_M / 200), 5)
    assert steel[0] / printed[0] < 0.96


@pytest.mark.slow
def test_stout_plate_with_all_edges_clamped():
    """Side over thickness 10: shear counts.

    D. J. Dawe and O. L. Roufaeil, J. Sound Vib. 69 (1980) 345-359: omega a sqrt(rho/G) with shear
    factor 0.8601 (from memory; second entry recalled as 3.039 or 3.046). A solid is a little
    stiffer in the third digit than any one shear factor makes the plate.
    """
    printed = np.array([1.594, 3.039, 3.039, 4.265, 5.035, 5.078])
    blank = sheet(rectangle(0, 0, SIDE_M, SIDE_M), SIDE_M / 10, held=_sides())
    modes = solve_modes(blank, METAL, count=8, accuracy="normal")
    speed = np.sqrt(METAL.shear_modulus_pa / METAL.density_kg_per_m3)
    found = 2 * np.pi * modes.freq_hz * SIDE_M / speed
    assert found[:6] == pytest.approx(printed, rel=8e-3)


def _sides():
    corners = [(SIDE_M * x, SIDE_M * y) for x, y in UNIT]
    return [[corners[i], corners[(i + 1) % 4]] for i in range(4)]
