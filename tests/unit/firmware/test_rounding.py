"""Rounded coefficients: the prediction, against the core itself in both precisions."""

from __future__ import annotations

import numpy as np

from modewright.firmware.rounding import rounding_of
from modewright.sound.engine import Engine
from modewright.sound.voice_program import ControlCurves

BLOCK = 32
BLOCKS = 600
ROW = 1


def test_pitch_and_decay_stay(loop):
    found = rounding_of(loop)
    assert np.abs(found.held_cents).max() < 0.1
    assert np.abs(found.damped_cents).max() < 0.1
    assert np.abs(found.damped_t60_share).max() < 0.01
    assert np.abs(found.damped_cents).max() > 0


def rung(loop, voice, precision):
    """Sum of the modes after a blow, one of them damped all the time."""
    regulators = loop.regulators
    shape = (BLOCKS, len(regulators.modes))
    gain = np.zeros((BLOCKS + 1, shape[1]))
    gain[:, ROW] = regulators.damp_gain[ROW]
    curves = ControlCurves(
        target_m=np.zeros_like(gain),
        gain=gain,
        feedforward=np.zeros(shape),
        integral_gain=np.zeros(shape),
        steering=np.broadcast_to(regulators.steering, shape),
    )
    engine = Engine(precision, block=BLOCK, longest_delay=voice.delay_samples)
    engine.load(0, voice)
    force_n = np.zeros(BLOCK * BLOCKS)
    force_n[:48] = np.hanning(48)
    return engine.run(len(force_n), force_n=force_n, curves=[curves])


def test_the_core_in_single_precision_decays_as_in_double(loop, voice):
    level = {p: rung(loop, voice, p).level_m[:, ROW, 0] for p in ("float32", "float64")}
    late = slice(100, 500)
    time_s = np.arange(BLOCKS)[late] * BLOCK / loop.plant.rate_hz
    rate = {p: -np.polyfit(time_s, np.log(v[late]), 1)[0] for p, v in level.items()}
    assert abs(rate["float32"] / rate["float64"] - 1) < 0.01
    np.testing.assert_allclose(3 * np.log(10) / rate["float64"], 0.3, rtol=0.05)
