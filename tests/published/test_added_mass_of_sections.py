"""Air that swings along with round and rectangular sections.

Sources
-------
H. Lamb, Hydrodynamics, art. 68: a round cylinder drags as much mass as it displaces. Art. 71:
ellipse and strip.
T. H. Havelock, K. Wendel: rectangles by the Schwarz-Christoffel map of their outside,
dz/dw = A sqrt(1 - 2 cos(2 a)/w^2 + 1/w^4), corners at exp(+-i a). The far flow past it is a dipole
of r^2 - a1 = A^2 (1 - cos 2a), which is added plus displaced mass over 2 pi rho (G. K. Batchelor,
An Introduction to Fluid Dynamics, sec. 6.4; from memory).
"""

import numpy as np
import pytest
from scipy.integrate import quad

from made_up_surface import along, moving_bar

X_M = np.linspace(0.0, 0.1, 11)


def rectangle(corner_rad):
    """Depth and front of a rectangle with A = 1, and its added mass over the density of the air."""

    def side(low, high):
        def speed(angle):
            return np.sqrt(abs(2 * np.cos(2 * angle) - 2 * np.cos(2 * corner_rad)))

        return quad(speed, low, high, limit=200)[0]

    front = side(-corner_rad, corner_rad)
    depth = side(corner_rad, np.pi - corner_rad)
    return depth, front, 2 * np.pi * (1 - np.cos(2 * corner_rad)) - depth * front


@pytest.mark.parametrize("corner_rad", [0.35, 0.5, 0.65, np.pi / 4, 0.95, 1.1, 1.3, 1.5])
def test_rectangles_of_any_ratio_drag_what_the_map_says(corner_rad):
    depth, front, added = rectangle(corner_rad)
    flat = moving_bar(X_M, along(2, np.ones((11, 1))), front, thickness_m=depth)
    assert flat.added_normal_m[0] * front == pytest.approx(added, rel=0.03)
    # The same section on edge, moving in the plane of the sheet.
    upright = moving_bar(X_M, along(1, np.ones((11, 1))), depth, thickness_m=front)
    assert upright.added_sideways_m[0] * depth == pytest.approx(added, rel=0.03)


def test_round_rod_drags_what_it_displaces():
    rod = moving_bar(
        X_M, along(2, np.ones((11, 1))), 0.02, thickness_m=np.pi / 4 * 0.02, is_round=True
    )
    for added_m in (rod.added_normal_m, rod.added_sideways_m):
        np.testing.assert_allclose(added_m * 0.02, np.pi * 0.01**2, rtol=1e-12)
