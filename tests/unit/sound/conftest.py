"""Voices for the tests of the real-time core: damped bodies with everything switched on."""

from __future__ import annotations

import numpy as np
import pytest

from modewright.sound.voice_program import ControlCurves, VoiceProgram

RATE_HZ = 48_000


def make_program(
    seed: int, modes: int = 7, observed: int = 4, regulated: int = 3, delay: int = 5, **changes
) -> VoiceProgram:
    """A body of `modes` modes whose lowest are observed and regulated, the model being exact."""
    rng = np.random.default_rng(seed)
    freq_hz = np.geomspace(196, 17_000, modes) * rng.uniform(0.97, 1.03, modes)
    sigma = 6.9 / np.geomspace(3, 0.2, modes)
    rotation = np.exp((2j * np.pi * freq_hz - sigma) / RATE_HZ)
    drive = 4e-8 * rng.uniform(0.5, 2, modes) * np.exp(2j * np.pi * rng.uniform(size=modes))
    pickup = 1e4 * rng.choice([-1, 1], modes) * np.exp(1j * rng.uniform(-0.3, 0.3, modes))
    first, held = slice(observed), slice(regulated)
    correction = rotation[first] * 2 * 2 * np.pi * 30 / RATE_HZ / pickup[first]
    per_rate = 2 / RATE_HZ / np.abs(drive[held])
    values = {
        "rotation": rotation,
        "drive_gain": drive,
        "force_gain": 50 * drive * np.exp(0.2j),
        "pickup_gain": pickup,
        "quadratic_per_v": 0.02,
        "cubic_per_v2": 0.004,
        "full_scale_v": 2.5,
        "input_sections": [[0.9, 0.1, 0.03, 1, -0.05, 0.02], [1.0, -0.99, 0, 1, -0.985, 0]],
        "output_sections": [[0.8, 0.15, 0.05, 1, -0.1, 0.03]],
        "delay_samples": delay,
        "command_limit": 1.0,
        "observer_rotation": rotation[first],
        "observer_drive_gain": drive[first],
        "observer_pickup_gain": pickup[first],
        "correction": correction,
        "predicted_correction": rotation[first] ** delay * correction,
        "target_m": np.linspace(1e-4, 3e-5, regulated),
        "gain": 20 * per_rate,
        "feedforward": sigma[held] * per_rate,
        "integral_gain": 40 * per_rate / RATE_HZ,
        "integral_limit": np.full(regulated, 0.2),
        "amp_limit": np.full(regulated, 0.8),
        "silence_m": np.full(regulated, 1e-7),
        "steering": drive[held].conj() / np.abs(drive[held]),
    }
    return VoiceProgram(**(values | changes))


def make_curves(program: VoiceProgram, blocks: int, seed: int) -> ControlCurves:
    """Targets and gains that move; in some blocks a mode is damped or left alone."""
    rng = np.random.default_rng(seed)
    edges, count = blocks + 1, program.regulated_count
    target = program.target_m * rng.uniform(0, 2, (edges, count))
    state = rng.integers(0, 3, (blocks, count))
    target[:-1][state != 2] = 0
    gain = program.gain * np.concatenate([state, state[-1:]])
    turn = np.exp(0.1j * rng.uniform(-1, 1, (blocks, count)))
    return ControlCurves(
        target_m=target,
        gain=gain,
        feedforward=np.where(state == 2, program.feedforward, 0),
        integral_gain=np.where(state == 2, program.integral_gain, 0),
        steering=program.steering * turn,
    )


def make_inputs(samples: int, voices: int, seed: int) -> dict[str, np.ndarray]:
    """A strike, a drive and the noise of the pickup for every voice."""
    rng = np.random.default_rng(seed)
    force = np.zeros((samples, voices))
    force[40:140] = np.hanning(100)[:, None] * rng.uniform(5, 30, voices)
    return {
        "force_n": force,
        "external": 0.3 * rng.standard_normal((samples, voices)),
        "noise_v": 1e-3 * rng.standard_normal((samples, voices)),
    }


@pytest.fixture(scope="session")
def program():
    return make_program


@pytest.fixture(scope="session")
def curves():
    return make_curves


@pytest.fixture(scope="session")
def inputs():
    return make_inputs
