"""Laws that every kind of driver obeys, whatever it is made of. A new kind adds its example here.

Energy: nobody gets work out of a driver that is not driven. Reciprocity: it hears a mode as it
pushes it (F. V. Hunt, Electroacoustics, 1954, ch. 3; from memory).
"""

import numpy as np
import pytest

from modewright.materials.solid import IsotropicSolid
from modewright.transducers.acoustic_driver import AcousticDriver
from modewright.transducers.driver import SheetSpot
from modewright.transducers.electromagnet import Armature, BiasedElectromagnet
from modewright.transducers.magnet_coil import MagnetAndCoil
from modewright.transducers.moving_armature import MovingArmature
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.piezo_patch import PiezoPatch
from modewright.transducers.registry import DRIVERS

SHEET = SheetSpot(
    thickness_m=1e-3,
    saturation_t=float("inf"),
    solid=IsotropicSolid(youngs_modulus_pa=193e9, poisson_ratio=0.29, density_kg_per_m3=7900.0),
)
PLACE = {"position_m": (60e-3, 0.0)}
EXAMPLES = {
    BiasedElectromagnet: BiasedElectromagnet(
        iron_gap_m=1.5e-3, armature=Armature(diameter_m=5e-3, thickness_m=1e-3), **PLACE
    ),
    MovingCoil: MovingCoil(force_factor_n_per_a=1.0, **PLACE),
    MovingArmature: MovingArmature(resonance_hz=900.0, moving_mass_kg=50e-6, **PLACE),
    MagnetAndCoil: MagnetAndCoil(**PLACE),
    PiezoPatch: PiezoPatch(**PLACE),
    AcousticDriver: AcousticDriver(**PLACE),
}


def action_of(driver, shapes):
    return driver.action(shapes, driver.biased_gap(shapes, "non-magnetic"), SHEET)


def circuit(reactions):
    """What goes through the electrical side."""
    return sum(matrix for cause, matrix in reactions.items() if cause != "spring")


def test_no_kind_is_left_out():
    assert set(EXAMPLES) == set(DRIVERS)


@pytest.mark.parametrize("driver", EXAMPLES.values(), ids=lambda driver: driver.kind)
class TestEveryDriver:
    def test_closed_or_open_it_only_takes_energy(self, driver, strip):
        action = action_of(driver, strip.shapes)
        for freq_hz in np.geomspace(1.0, 1e5, 12):
            for is_closed in (False, True):
                found = action.reactions(np.full(4, freq_hz), is_closed=is_closed)
                # Any motion of the body at one frequency, not mode by mode only.
                lost = np.linalg.eigvalsh(sum(m.imag for m in found.values()) + np.zeros((4, 4)))
                assert lost.min() >= -1e-9 * np.abs(lost).max()

    def test_short_circuit_takes_some(self, driver, strip):
        action = action_of(driver, strip.shapes)
        closed = action.reactions(strip.freq_hz, is_closed=True)
        assert np.all(np.diag(sum(closed.values())).imag > 0)
        # A cone that is free to swing beside the sheet may take more than one that is braked.
        if not isinstance(driver, AcousticDriver):
            assert np.all(np.diag(circuit(closed)).imag > 0)

    def test_reactions_are_reciprocal(self, driver, strip):
        action = action_of(driver, strip.shapes)
        for matrix in action.reactions(strip.freq_hz, is_closed=True).values():
            np.testing.assert_allclose(matrix, matrix.T, rtol=1e-12)

    def test_back_emf_is_that_of_the_force(self, driver, strip):
        """Far above what resistance does, a shorted coil keeps its flux: a spring (Bl)²/L."""
        action = action_of(driver, strip.shapes)
        if action.drive_unit == "V":
            pytest.skip("a patch has no coil")
        if action.port.holds_open or action.coil.inductance_h == 0:
            pytest.skip("the moving part has dynamics of its own")
        matrix = action.reactions(np.full(4, 1e7), is_closed=True)["back-EMF"]
        spring = action.force_per_drive**2 / action.coil.inductance_h
        np.testing.assert_allclose(np.diag(matrix).real, spring, rtol=0.01)

    def test_sign_of_the_shapes_changes_no_product(self, driver, strip):
        one = action_of(driver, strip.shapes)
        flip = np.diag([1.0, -1.0, 1.0, -1.0])
        other = action_of(driver, strip.shapes.recombined(flip))
        np.testing.assert_allclose(other.force_per_drive, flip @ one.force_per_drive)
        for name, matrix in one.reactions(strip.freq_hz, is_closed=True).items():
            turned = other.reactions(strip.freq_hz, is_closed=True)[name]
            np.testing.assert_allclose(turned, flip @ matrix @ flip)
