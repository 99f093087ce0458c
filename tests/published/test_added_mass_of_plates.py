"""Mass of the fluid that swings with a thin plate, against the strip rule.

Sources
-------
H. Lamb, Hydrodynamics, arts. 71, 102 and 108: long strip, (pi/4) rho b^2 per length; disc moving
broadside, (8/3) rho R^3 (evaluated).
W. K. Meyerhoff, Added masses of thin rectangular plates calculated from potential theory, J. Ship
Res. 14 (1970) 100-111; the same table in handbooks of marine engineering: 0.579, 0.757, 0.872,
0.934 times (pi/4) rho b^2 L for L/b = 1, 2, 4, 8 (from memory). Here each is computed again from
potential theory by rings of vortices, which confirms all but the last to 1 %.
"""

import numpy as np
import pytest

from modewright.geometry.blank import Blank, NamedPoint, Outline
from modewright.losses.air_drag import air_drag_reaction, strip_drag
from modewright.losses.surface import surface_motion
from modewright.materials.air import air_at
from sheet_blanks import circle, rectangle

AIR = air_at(293.15)
HIGH_HZ = np.array([1e7])  # where the boundary layer is gone


class Even:
    """Whole sheet moves alike; 1 kg."""

    @property
    def middle(self):
        return self

    def slope(self, points_m):
        return np.zeros((len(points_m), 3, 2, 1))

    def displacement(self, points_m):
        motion = np.zeros((len(points_m), 3, 1))
        motion[:, 2] = 1.0
        return motion


def of_strips(outer):
    """Mass of air by the strip rule, without its boundary layer. [kg]"""
    blank = Blank(
        outline=Outline(outer=outer),
        thickness_m=1e-6,
        named_points=(NamedPoint(name="start", point_m=(0.0, 0.0)),),
    )
    surface = surface_motion(blank, Even(), 8000.0)
    of_layer = float(strip_drag(1e9).real)
    return air_drag_reaction(HIGH_HZ, surface, AIR)[0].imag / of_layer


def of_vortices(length, width, across):
    """Added mass over rho of a rectangle from cells with constant jump of the potential.

    Corners of a cell at distances x and y make the normal velocity sqrt(x^2 + y^2)/(4 pi x y), with
    the sign of the corner. Such a lattice acts as a plate a quarter of a cell larger all round.
    """
    along = round(across * length / width)
    h = width / across
    long = along * h
    x, y = np.meshgrid((np.arange(along) + 0.5) * h, (np.arange(across) + 0.5) * h, indexing="ij")
    dx, dy = (np.subtract.outer(c.ravel(), c.ravel()) for c in (x, y))
    induced = np.zeros_like(dx)
    for one in (-1, 1):
        for other in (-1, 1):
            p, q = dx + one * h / 2, dy + other * h / 2
            induced += one * other * np.hypot(p, q) / (p * q) / (4 * np.pi)
    jump = np.linalg.solve(induced, np.ones(len(dx)))
    larger = (width + h / 2) ** 2 * (long + h / 2) / (width**2 * long)
    return abs(jump.sum()) * h**2 / larger


@pytest.mark.parametrize(
    ("slenderness", "printed", "cells"), [(1, 0.579, 20), (2, 0.757, 16), (4, 0.872, 12)]
)
def test_rectangles(slenderness, printed, cells):
    found = of_vortices(slenderness, 1.0, cells) / (np.pi / 4 * slenderness)
    assert found == pytest.approx(printed, rel=0.01)


@pytest.mark.parametrize(
    ("slenderness", "printed", "stated"),
    [(1, 0.579, 1.75), (2, 0.757, 1.35), (4, 0.872, 1.2), (8, 0.934, 1.1)],
)
def test_strip_rule_is_as_far_off_as_it_says(slenderness, printed, stated):
    width = 0.01
    true = printed * np.pi / 4 * AIR.density_kg_per_m3 * width**3 * slenderness
    found = of_strips(rectangle(0, 0, width * slenderness, width))
    assert true < found < stated * true


def test_disc_by_the_strip_rule():
    radius = 0.01
    true = 8 / 3 * AIR.density_kg_per_m3 * radius**3
    assert true < of_strips(circle(0, 0, radius)) < 1.75 * true
