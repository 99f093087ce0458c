"""The core against a loop written here, straight from the equations, in complex numpy numbers."""

from __future__ import annotations

import numpy as np
import pytest

from modewright.sound.engine import Engine
from modewright.sound.voice_program import ControlCurves

SAMPLES, BLOCK = 1500, 32


def clip(value, limit):
    return np.minimum(np.maximum(value, -limit), limit)


class Sections:
    """Cascade in direct form I, which the core does not use."""

    def __init__(self, sections):
        self.rows = [(row, np.zeros(2), np.zeros(2)) for row in sections]

    def __call__(self, x):
        for (b0, b1, b2, _, a1, a2), past_x, past_y in self.rows:
            y = b0 * x + b1 * past_x[0] + b2 * past_x[1] - a1 * past_y[0] - a2 * past_y[1]
            past_x[:] = x, past_x[0]
            past_y[:] = y, past_y[0]
            x = y
        return x


class Regulators:
    """All level regulators at once."""

    def __init__(self, p):
        self.p, self.integral = p, np.zeros(p.regulated_count)
        self.is_at_limit = False

    def __call__(self, state, target, gain, feedforward, integral_gain, steering, limited):
        p, level = self.p, np.abs(state)
        error = target - level
        wanted = gain * error + feedforward * target + self.integral
        frozen = ((np.abs(wanted) > p.amp_limit) | limited) & (wanted * error > 0)
        moved = clip(self.integral + np.where(frozen, 0, integral_gain * error), p.integral_limit)
        self.integral = np.where(integral_gain > 0, moved, 0)
        wanted = gain * error + feedforward * target + self.integral
        self.is_at_limit = bool(np.any(np.abs(wanted) > p.amp_limit))
        amp = clip(wanted, p.amp_limit)
        unit = (state + p.silence_m) / (level + p.silence_m)
        return np.sum((steering * unit).real * amp)


def simulate(p, curves, force, external, noise, samples=SAMPLES):
    body = np.zeros(p.mode_count, complex)
    delayed = np.zeros(p.observed_count, complex)
    present = np.zeros(p.observed_count, complex)
    issued = np.zeros(samples + p.delay_samples)
    hear, act, regulate = Sections(p.input_sections), Sections(p.output_sections), Regulators(p)
    heard, levels, limited, clips = np.zeros(samples), [], np.zeros(samples, bool), 0
    counted = 0
    for k in range(samples):
        b = k // BLOCK
        length = min(BLOCK, samples - b * BLOCK)
        share = (k - b * BLOCK) / length
        s = np.sum((p.pickup_gain * body).real)
        raw = hear(s + p.quadratic_per_v * s**2 + p.cubic_per_v2 * s**3 + noise[k])
        y = heard[k] = clip(raw, p.full_scale_v)
        clips += abs(raw) > p.full_scale_v
        e = y - np.sum((p.observer_pickup_gain * delayed).real)
        demand = external[k] + regulate(
            present[: p.regulated_count],
            curves.target_m[b] * (1 - share) + curves.target_m[b + 1] * share,
            curves.gain[b] * (1 - share) + curves.gain[b + 1] * share,
            curves.feedforward[b],
            curves.integral_gain[b],
            curves.steering[b],
            k > 0 and limited[k - 1],
        )
        u = issued[k + p.delay_samples] = clip(demand, p.command_limit)
        limited[k] = abs(demand) > p.command_limit
        counted += limited[k] or regulate.is_at_limit
        arrived = issued[k]
        delayed = p.observer_rotation * delayed + p.observer_drive_gain * arrived + p.correction * e
        present = (
            p.observer_rotation * present + p.observer_drive_gain * u + p.predicted_correction * e
        )
        body = p.rotation * body + p.drive_gain * act(arrived) + p.force_gain * force[k]
        if k == samples - 1 or (k + 1) % BLOCK == 0:
            levels.append(np.abs(present))
    return heard, issued[p.delay_samples :], np.array(levels), counted, clips


SHAPES = [
    {"modes": 7, "observed": 4, "regulated": 3},
    {"modes": 3, "observed": 3, "regulated": 1},
    {"modes": 9, "observed": 2, "regulated": 2},
    {"modes": 4, "observed": 1, "regulated": 0, "input_sections": np.zeros((0, 6))},
    {"modes": 5, "observed": 5, "regulated": 5, "output_sections": np.zeros((0, 6))},
]


@pytest.mark.parametrize("width", ["auto", "baseline"])
@pytest.mark.parametrize("delay", [1, 48, 255, 384])
def test_equals_oracle_with_everything_active(program, curves, inputs, width, delay):
    programs = [program(i, delay=delay, **shape) for i, shape in enumerate(SHAPES)]
    blocks = -(-SAMPLES // BLOCK)
    moves = [curves(p, blocks, i) for i, p in enumerate(programs)]
    given = inputs(SAMPLES, len(programs), 3)
    engine = Engine("float64", width, block=BLOCK, longest_delay=delay)
    for lane, voice in enumerate(programs):
        engine.load(lane, voice)
    got = engine.run(SAMPLES, curves=moves, **given)
    assert not engine.fault.any()
    for lane, voice in enumerate(programs):
        y, u, levels, limited, clips = simulate(
            voice, moves[lane], *(given[n][:, lane] for n in ("force_n", "external", "noise_v"))
        )
        scale = np.abs(y).max()
        np.testing.assert_allclose(got.output_v[:, lane], y, rtol=0, atol=1e-12 * scale)
        np.testing.assert_allclose(got.command[:, lane], u, rtol=0, atol=1e-12)
        np.testing.assert_allclose(
            got.level_m[:, : voice.observed_count, lane], levels, rtol=0, atol=1e-12 * levels.max()
        )
        assert engine.limited_samples[lane] == limited
        assert engine.clipped_samples[lane] == clips
    # The comparison would say little if the limits had never been reached.
    assert engine.limited_samples.max() > 100
    assert engine.clipped_samples.max() > 100


def test_a_delay_of_thousands_of_samples_equals_the_oracle(program, curves, inputs):
    delay, samples = 4000, 4992
    voice = program(3, modes=2, observed=2, regulated=1, delay=delay)
    moves, given = curves(voice, samples // BLOCK, 1), inputs(samples, 1, 3)
    engine = Engine("float64", block=BLOCK, longest_delay=delay)
    engine.load(0, voice)
    got = engine.run(samples, curves=[moves], **given)
    y, u, *_ = simulate(
        voice, moves, *(given[n][:, 0] for n in ("force_n", "external", "noise_v")), samples
    )
    np.testing.assert_allclose(got.output_v[:, 0], y, rtol=0, atol=1e-12 * np.abs(y).max())
    np.testing.assert_allclose(got.command[:, 0], u, rtol=0, atol=1e-12)


def test_program_as_loaded_equals_steady_curves(program, inputs):
    voice, given = program(2), inputs(320, 1, 4)
    engine = Engine("float64", block=BLOCK)
    engine.load(0, voice)
    plain = engine.run(320, **given).output_v
    engine.reset()
    steady = engine.run(320, curves=[ControlCurves.steady(voice, 10)], **given).output_v
    np.testing.assert_array_equal(plain, steady)
