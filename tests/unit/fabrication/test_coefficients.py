"""Coefficients as JSON: everything a controller needs comes back as it was."""

import json

import numpy as np
import pytest

from made_up_plant import make_plant
from modewright.fabrication.coefficients import loop_coefficients
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl


@pytest.fixture(scope="module")
def loop():
    controls = (ModeControl(mode=1, state="held"), ModeControl(mode=3, decay_s=0.3))
    return close_loop(make_plant(), LoopSettings(modes=controls))


@pytest.fixture(scope="module")
def read(loop):
    return json.loads(json.dumps(loop_coefficients(loop), allow_nan=False))


COMPLEX = {
    "rotation": ("observer", "rotation"),
    "drive_gain_m_per_command": ("observer", "drive_gain"),
    "pickup_gain_v_per_m": ("observer", "pickup_gain"),
    "correction_m_per_v": ("observer", "correction"),
    "predicted_correction_m_per_v": ("observer", "predicted_correction"),
    "steering": ("regulators", "steering"),
}
REAL = {
    "damp_gain_command_per_m": "damp_gain",
    "hold_gain_command_per_m": "hold_gain",
    "sustain_gain_command_per_m": "sustain_gain",
    "integral_gain_command_per_m": "integral_gain",
    "integral_limit_command": "integral_limit",
    "amplitude_limit_command": "command_limit",
    "silence_m": "silence_m",
    "level_m": "level_m",
}


@pytest.mark.parametrize("name", COMPLEX)
def test_complex_numbers_are_pairs_and_exact(name, loop, read):
    owner, field = COMPLEX[name]
    pairs = np.array(read[name])
    np.testing.assert_array_equal(
        pairs[:, 0] + 1j * pairs[:, 1], getattr(getattr(loop, owner), field)
    )


@pytest.mark.parametrize("name", REAL)
def test_real_numbers_are_exact(name, loop, read):
    np.testing.assert_array_equal(read[name], getattr(loop.regulators, REAL[name]))


def test_modes_are_counted_from_one(loop, read):
    assert read["regulated_modes"] == [1, 3]
    assert read["state"] == ["held", "damped"]
    assert read["observed_modes"] == [int(m) + 1 for m in loop.observer.modes]
    assert len(read["rotation"]) == len(read["observed_modes"])


def test_conversion_and_limits(read):
    assert (read["rate_hz"], read["delay_samples"]) == (48e3, 48)
    assert (read["command_unit"], read["command_limit"], read["full_scale_v"]) == ("A", 0.1, 50.0)


def test_predicted_correction_is_the_correction_after_the_delay(read):
    def numbers(name):
        pairs = np.array(read[name])
        return pairs[:, 0] + 1j * pairs[:, 1]

    turned = numbers("rotation") ** read["delay_samples"] * numbers("correction_m_per_v")
    np.testing.assert_allclose(numbers("predicted_correction_m_per_v"), turned, rtol=1e-12)
