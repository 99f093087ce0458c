"""A strip whose modes are written down, for the tests of this folder."""

from dataclasses import dataclass

import numpy as np
import pytest

from modewright.geometry.blank import Blank, Hold, NamedPoint, Outline
from modewright.geometry.loop import Loop
from modewright.modes.basis import BendingStrain, Modes

LENGTH_M, WIDTH_M, THICKNESS_M, DENSITY = 0.06, 0.012, 1e-3, 7880.0
MASS_KG = LENGTH_M * WIDTH_M * THICKNESS_M * DENSITY


@dataclass(frozen=True)
class WrittenShapes:
    """Mass-normalised columns: even motion, parabola along x, twist about the x axis."""

    mode_count = 3

    @property
    def middle(self):
        return self

    def slope(self, points_m):
        return np.zeros((len(points_m), 3, 2, 3))

    def displacement(self, points_m):
        x, y = points_m[:, 0] / LENGTH_M, points_m[:, 1] / WIDTH_M
        normal = np.stack([np.ones_like(x), np.sqrt(5) * x**2, 6 * x * y], axis=-1)
        zero = np.zeros_like(normal)
        return np.stack([zero, zero, normal], axis=1) / np.sqrt(MASS_KG)


def _blank(**changes):
    outer = [[0, -1], [2, -1], [2, 1], [0, 1]] * np.array([LENGTH_M / 2, WIDTH_M / 2])
    given = {
        "outline": Outline(outer=Loop.polygon(outer)),
        "thickness_m": THICKNESS_M,
        "hold": Hold(edges_m=np.array([[[0.0, -WIDTH_M / 2], [0.0, WIDTH_M / 2]]])),
        "named_points": (NamedPoint(name="tip", point_m=(LENGTH_M, 0.0)),),
    }
    return Blank(**(given | changes))


@pytest.fixture
def make_blank():
    return _blank


@pytest.fixture
def written_modes():
    bending = BendingStrain(
        thickness_m=np.array([THICKNESS_M]), dilatation_per_pa=np.array([[1e-12, 9e-13, 0.0]])
    )
    return Modes(
        freq_hz=np.array([200.0, 800.0, 1200.0]),
        error_cents=np.zeros(3),
        labels=("even", "parabola", "twist"),
        shapes=WrittenShapes(),
        bending=bending,
        body_mass_kg=MASS_KG,
        source="written",
    )
