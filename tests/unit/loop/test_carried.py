"""A designed controller on a plant that has moved."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from made_up_plant import FREQ_HZ, RATE_HZ, make_plant
from modewright.loop.carried import carry_controller
from modewright.loop.close import ClosedLoop, close_loop
from modewright.loop.detuning import detune_mode
from modewright.loop.settings import LoopSettings, ModeControl

BANDWIDTH_HZ = 3.0


@pytest.fixture(scope="module")
def loop() -> ClosedLoop:
    modes = tuple(ModeControl(mode=i + 1, decay_s=0.3) for i in range(6))
    settings = LoopSettings(modes=modes, observer_bandwidth_hz=BANDWIDTH_HZ)
    return close_loop(make_plant(), settings)


def test_on_its_own_plant_nothing_has_changed(loop: ClosedLoop) -> None:
    carried = carry_controller(loop, loop.plant)
    assert carried.is_stable == loop.is_stable
    assert np.abs(carried.turn_deg).max() < 1e-9
    for found, own in (
        (carried.stated, loop.stated.margins),
        (carried.all_damped, loop.all_damped.margins),
    ):
        assert found.phase_deg == pytest.approx(own.phase_deg, abs=0.01)
        assert found.gain_db == pytest.approx(own.gain_db, abs=0.01)


@pytest.mark.parametrize("moved_hz", [-0.5, 0.5, 3.0])
def test_turn_of_one_mode_by_observer_and_delay(loop: ClosedLoop, moved_hz: float) -> None:
    # Of a lone mode the observer is a lag of first order at its bandwidth; the delay adds its own.
    mode = 2
    cents = 1200 * np.log2(1 + moved_hz / FREQ_HZ[mode])
    carried = carry_controller(loop, detune_mode(loop.plant, mode, float(cents)))
    delay_s = loop.plant.delay_samples / RATE_HZ
    lag = np.degrees(np.arctan(moved_hz / BANDWIDTH_HZ)) + 360 * moved_hz * delay_s
    assert carried.turn_deg[mode] == pytest.approx(-lag, abs=1.0)
    assert np.abs(np.delete(carried.turn_deg, mode)).max() < 0.5


def test_far_off_its_mode_a_loop_feeds_what_it_should_damp() -> None:
    # Observer and regulator, of 19/s and 23/s, lag by 84 deg and the delay by 22; what is left of
    # the push, 1/s, has the wrong sign and exceeds what the mode loses by itself, 0.1/s.
    settings = LoopSettings(
        modes=(ModeControl(mode=3, decay_s=0.3),), observer_bandwidth_hz=BANDWIDTH_HZ
    )
    lossless = close_loop(make_plant(q=20_000), settings)
    moved = detune_mode(lossless.plant, 2, 1200 * np.log2(1 + 60 / FREQ_HZ[2]))
    carried = carry_controller(lossless, moved)
    assert lossless.is_stable
    assert carried.turn_deg[0] == pytest.approx(-108.7, abs=2.0)
    assert not carried.is_stable


def test_plant_with_another_delay(loop: ClosedLoop) -> None:
    other = dataclasses.replace(loop.plant, delay_samples=loop.plant.delay_samples + 1)
    with pytest.raises(ValueError, match="49"):
        carry_controller(loop, other)
