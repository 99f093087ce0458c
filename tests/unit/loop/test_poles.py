"""Poles against the eigenvalues of the whole loop written as one matrix."""

import dataclasses

import numpy as np
import pytest
from scipy import linalg

from made_up_plant import make_plant
from modewright.loop.close import close_loop
from modewright.loop.discrete import Sections
from modewright.loop.poles import growing_count
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.loop.transfer import frequency_grid_hz, loop_terms
from whole_loop import transition_matrix


def controls(decay_s, **changes):
    modes = tuple(ModeControl(mode=i + 1, decay_s=decay_s, **changes) for i in range(6))
    return LoopSettings(modes=modes)


def eigenvalues(loop, case):
    return linalg.eigvals(transition_matrix(loop.plant, loop.observer, loop.regulators, case.gain))


def z_plane(plant, poles):
    decay = np.exp(-poles.decay_rate_per_s / plant.rate_hz)
    damped_hz = plant.freq_hz * np.sqrt(1 - plant.damping_ratio**2)
    turn = plant.rotation / np.abs(plant.rotation)
    return decay * turn * np.exp(2j * np.pi * (poles.freq_hz - damped_hz) / plant.rate_hz)


LOW_PASS = Sections(sos=np.array([[0.05, 0.05, 0, 1, -0.9, 0]]))


@pytest.mark.parametrize(
    ("decay_s", "delay"), [(0.3, 1), (0.3, 200), (0.092, 48), (0.03, 1), (0.03, 48)]
)
def test_poles_are_eigenvalues_of_the_whole_loop(decay_s, delay):
    """0.092 s lies where treated modes pass the poles of the observer."""
    plant = dataclasses.replace(make_plant(), delay_samples=delay, output_sections=LOW_PASS)
    loop = close_loop(plant, controls(decay_s))
    values = eigenvalues(loop, loop.all_damped)
    found = z_plane(plant, loop.all_damped.poles)
    distance = np.abs(values[:, None] - found)
    assert distance.min(axis=0).max() < 1e-11
    assert len(np.unique(distance.argmin(axis=0))) == plant.mode_count


def test_growing_poles_are_all_counted():
    """Plants that are not what the observer thinks: strengths, signs and pitches."""
    plant = make_plant()
    loop = close_loop(plant, controls(0.1))
    observer, regulators, gain = loop.observer, loop.regulators, loop.all_damped.gain
    counts = []
    for seed in (0, 3, 7, 9):
        draw = np.random.default_rng(seed)
        wrong = dataclasses.replace(
            plant,
            pickup_gain=plant.pickup_gain * draw.normal(1, 0.2 * seed, plant.mode_count),
            rotation=plant.rotation ** draw.normal(1, 2e-3 * seed, plant.mode_count),
        )
        terms = loop_terms(wrong, observer, regulators, frequency_grid_hz(wrong, observer))
        matrix = transition_matrix(wrong, observer, regulators, gain)
        counts.append(np.count_nonzero(np.abs(linalg.eigvals(matrix)) > 1))
        assert growing_count(wrong, observer, regulators, gain, terms) == counts[-1]
    assert counts[0] == 0
    assert max(counts) >= 2


def test_aliased_modes_are_followed_where_they_turn():
    """At 16 kHz the modes from 8300 Hz on turn the other way; poles and count still agree."""
    fast = make_plant()
    rate_hz = 16e3
    plant = dataclasses.replace(
        fast,
        rate_hz=rate_hz,
        rotation=fast.rotation ** (fast.rate_hz / rate_hz),
        drive_gain=fast.drive_gain * (fast.rate_hz / rate_hz) ** 2,
    )
    loop = close_loop(plant, controls(0.3))
    np.testing.assert_array_equal(np.nonzero(plant.is_aliased)[0], np.arange(12, 20))
    assert plant.sampled_freq_hz[12] == pytest.approx(16000 - 8300, abs=1)
    values = eigenvalues(loop, loop.all_damped)
    found = z_plane(plant, loop.all_damped.poles)
    assert np.abs(values[:, None] - found).min(axis=0).max() < 1e-11
    assert loop.all_damped.poles.growing_count == np.count_nonzero(np.abs(values) > 1)
    told = [text for text in loop.findings if "Above half the rate" in text]
    assert "mode 13 (mode at 8300) at 8300 Hz is heard as 7700 Hz" in told[0]
    assert told[-1] == "Above half the rate: 5 more modes."


def test_four_thousand_samples_of_delay():
    plant = dataclasses.replace(make_plant(), delay_samples=4000)
    loop = close_loop(plant, controls(0.5))
    t60_s = 3 * np.log(10) / loop.all_damped.poles.decay_rate_per_s
    # The observer predicts through any delay, so with a right model the decay comes out.
    np.testing.assert_allclose(t60_s[:6], 0.5, rtol=0.05)


def test_free_and_untouched_modes_stay_exactly_where_they_are():
    plant = make_plant()
    modes = (ModeControl(mode=1), ModeControl(mode=4, state="free"), ModeControl(mode=2))
    loop = close_loop(plant, LoopSettings(modes=modes))
    assert abs(loop.stated.poles.shift_cents[3]) < 1e-3
    assert loop.stated.poles.decay_rate_per_s[3] == pytest.approx(plant.decay_rate_per_s[3], 1e-3)
    idle = close_loop(plant, LoopSettings(modes=()))
    np.testing.assert_array_equal(idle.stated.poles.shift_cents, 0)
