"""A clamped strip in closed form, for the tests of this folder.

Bernoulli-Euler cantilever, Blevins, Formulas for Natural Frequency and Mode Shape, 1979, table 8-1.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from modewright.modes.basis import ModalBasis

LENGTH_M, WIDTH_M, THICKNESS_M = 0.1, 0.02, 1e-3
DENSITY, YOUNG_PA = 7900.0, 193e9
MASS_KG = LENGTH_M * WIDTH_M * THICKNESS_M * DENSITY
ROOTS = np.array([1.87510407, 4.69409113, 7.85475744, 10.99554073])


@dataclass(frozen=True)
class StripShapes:
    """Bending of a strip along x; `mixing` recombines."""

    mixing: np.ndarray

    @property
    def mode_count(self):
        return self.mixing.shape[1]

    def displacement(self, points_m):
        b = ROOTS[: self.mixing.shape[0]]
        z = points_m[:, :1] / LENGTH_M * b
        c = (np.sinh(b) - np.sin(b)) / (np.cosh(b) + np.cos(b))
        normal = (np.cosh(z) - np.cos(z) - c * (np.sinh(z) - np.sin(z))) / np.sqrt(MASS_KG)
        zero = np.zeros_like(normal @ self.mixing)
        return np.stack([zero, zero, normal @ self.mixing], axis=1)

    def slope(self, points_m):
        b = ROOTS[: self.mixing.shape[0]]
        z = points_m[:, :1] / LENGTH_M * b
        c = (np.sinh(b) - np.sin(b)) / (np.cosh(b) + np.cos(b))
        rise = np.sinh(z) + np.sin(z) - c * (np.cosh(z) - np.cos(z))
        found = np.zeros((len(points_m), 3, 2, self.mode_count))
        found[:, 2, 0] = (rise * b / LENGTH_M / np.sqrt(MASS_KG)) @ self.mixing
        return found

    @property
    def middle(self):
        return self

    def recombined(self, mixing):
        return replace(self, mixing=self.mixing @ mixing)


@dataclass(frozen=True)
class PistonShapes:
    """A rigid body of a given mass that rises without turning."""

    mass_kg: float
    sign: float = 1.0
    mode_count = 1

    def displacement(self, points_m):
        normal = np.full((len(points_m), 1), self.sign / np.sqrt(self.mass_kg))
        return np.stack([0 * normal, 0 * normal, normal], axis=1)

    def recombined(self, mixing):
        return PistonShapes(self.mass_kg, self.sign * float(mixing[0, 0]))


def strip_freq_hz():
    stiffness = np.sqrt(YOUNG_PA * THICKNESS_M**2 / (12 * DENSITY))
    return (ROOTS / LENGTH_M) ** 2 * stiffness / (2 * np.pi)


@pytest.fixture
def strip():
    count = len(ROOTS)
    return ModalBasis(
        freq_hz=strip_freq_hz(),
        damping_ratio=np.full(count, 5e-4),
        shapes=StripShapes(np.eye(count)),
        labels=tuple(f"bending {n + 1}" for n in range(count)),
    )


@pytest.fixture
def make_piston():
    def make(stiffness_n_per_m, freq_hz=220.0, damping_ratio=5e-4):
        mass_kg = stiffness_n_per_m / (2 * np.pi * freq_hz) ** 2
        return ModalBasis(
            freq_hz=np.array([freq_hz]),
            damping_ratio=np.array([damping_ratio]),
            shapes=PistonShapes(mass_kg),
            labels=("piston",),
        )

    return make
