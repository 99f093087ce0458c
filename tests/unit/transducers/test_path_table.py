"""The printed path is the path."""

import numpy as np
import pytest

from modewright.transducers.capacitive_pickup import CapacitivePickup
from modewright.transducers.electronics import Electronics
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.path_table import path_table
from modewright.transducers.pickup_gap import pickup_gap
from modewright.transducers.plate import DiscPlate
from modewright.transducers.ports import drive_limits, driver_port, pickup_port


@pytest.fixture
def rows(strip):
    pickup = CapacitivePickup(plate=DiscPlate(centre_m=(0.09, 0.0), diameter_m=0.012))
    coil = MovingCoil(position_m=(0.03, 0.0))
    electronics = Electronics(total_delay_s=1e-3)
    heard = pickup_port(pickup, pickup_gap(pickup, strip.shapes), strip)
    action, amplifier = coil.action(strip.shapes, None), electronics.amplifier
    limits = drive_limits(coil, action, amplifier, float(strip.freq_hz[0]))
    driven = driver_port(coil, action, amplifier, limits, strip.freq_hz)
    reference = strip.shapes.displacement(np.array([[0.1, 0.0]]))[0, 2]
    return path_table(strip.freq_hz, reference, heard, electronics, driven)


def test_order_of_the_stages(rows):
    assert [row.name for row in rows] == [
        "pickup",
        "bias corner",
        "preamp",
        "anti-alias",
        "input converter",
        "hold",
        "computing",
        "delay line",
        "output converter",
        "amplifier",
        "coil",
        "driver",
        "whole path",
    ]


def test_last_row_is_the_product(rows):
    *stages, total = rows
    assert total.magnitude_db == pytest.approx(sum(row.magnitude_db for row in stages))
    turns = (sum(row.phase_deg for row in stages) - total.phase_deg) / 360
    assert turns == pytest.approx(np.round(turns), abs=1e-9)


def test_phase_of_the_delays(rows, strip):
    delays = [r for r in rows if r.name in ("input converter", "computing", "output converter")]
    delays += [r for r in rows if r.name == "delay line"]
    turn = np.prod([r.gain for r in delays], axis=0)
    assert turn == pytest.approx(np.exp(-2j * np.pi * strip.freq_hz * 1e-3))
