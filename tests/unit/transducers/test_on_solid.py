"""Transducers on modes from solid elements, against the closed-form strip of this folder."""

import numpy as np
import pytest

from modewright.geometry.blank import Blank, Hold, NamedPoint, Outline
from modewright.geometry.loop import Loop
from modewright.loop.plant import build_plant
from modewright.materials.solid import IsotropicSolid
from modewright.modes.basis import ModalBasis
from modewright.modes.solid import solve_modes
from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.electronics import Electronics
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.operating_point import find_operating_point
from modewright.transducers.plate import DiscPlate
from modewright.transducers.ports import drive_limits, driver_port, pickup_port


def test_first_bending_of_a_solid_strip(strip):
    outer = Loop.polygon([[0, -0.01], [0.1, -0.01], [0.1, 0.01], [0, 0.01]])
    blank = Blank(
        outline=Outline(outer=outer),
        thickness_m=1e-3,
        hold=Hold(edges_m=np.array([[[0, -0.01], [0, 0.01]]])),
        named_points=(NamedPoint(name="tip", point_m=(0.1, 0.0)),),
    )
    metal = IsotropicSolid(youngs_modulus_pa=193e9, poisson_ratio=0.28, density_kg_per_m3=7900.0)
    modes = solve_modes(blank, metal, count=8, accuracy="draft")
    solid = ModalBasis(
        freq_hz=modes.freq_hz,
        damping_ratio=np.full(8, 5e-4),
        shapes=modes.shapes,
        labels=modes.labels,
    )
    pickup = CapacitivePickup(plate=DiscPlate(centre_m=(0.09, 0.0), diameter_m=0.01))
    coil = MovingCoil(position_m=(0.03, 0.0))
    electronics = Electronics(total_delay_s=1e-3)
    gains = []
    for basis in (solid, strip):
        point = find_operating_point(
            basis, (pickup,), (coil,), electronics.amplifier, "non-magnetic"
        )
        heard = pickup_port(pickup, point.pickup_gaps[0], point.basis)
        action, amplifier = point.driver_actions[0], electronics.amplifier
        limits = drive_limits(coil, action, amplifier, float(point.basis.freq_hz[0]))
        driven = driver_port(coil, action, amplifier, limits, point.basis.freq_hz)
        gains.append(heard.volts_per_coordinate[0] * driven.force_per_drive[0])
        plant = build_plant(point.basis, heard, driven, electronics, (0.1, 0.0))
        assert plant.delay_samples == 48
    # A strip five times longer than wide is a little stiffer at the hold than a beam.
    assert gains[0] == pytest.approx(gains[1], rel=0.03)
