import dataclasses

import numpy as np
import pytest
from scipy import linalg

from made_up_plant import FREQ_HZ, make_plant
from modewright.errors import LoopError
from modewright.loop.close import close_loop
from modewright.loop.settings import LoopSettings, ModeControl
from whole_loop import transition_matrix

DECAY_60_DB = 3 * np.log(10)


@pytest.fixture(scope="module")
def loop(plant, settings):
    return close_loop(plant, settings)


def test_damped_modes_get_the_decay_that_was_asked_for(loop):
    t60_s = DECAY_60_DB / loop.all_damped.poles.decay_rate_per_s[:6]
    np.testing.assert_allclose(t60_s, 0.3, rtol=0.05)


def test_untreated_modes_keep_their_poles(loop, plant):
    np.testing.assert_allclose(
        loop.all_damped.poles.decay_rate_per_s[6:], plant.decay_rate_per_s[6:], rtol=0.01
    )
    assert np.abs(loop.all_damped.poles.shift_cents[6:]).max() < 0.1


def test_gain_margin_is_where_the_poles_cross_the_circle(plant):
    """Two independent ways: the frequency response, and the eigenvalues of the raised loop."""
    settings = LoopSettings(modes=(ModeControl(mode=2, decay_s=0.02),))
    loop = close_loop(plant, settings)
    factor = 10 ** (loop.all_damped.margins.gain_db / 20)
    assert 1 < factor < 1e3

    def growth(share):
        raised = make_plant(gain=share)
        matrix = transition_matrix(raised, loop.observer, loop.regulators, loop.all_damped.gain)
        return np.abs(linalg.eigvals(matrix)).max() - 1

    assert growth(0.98 * factor) < 0 < growth(1.02 * factor)


def test_flipped_mode_shapes_change_nothing(loop, settings):
    draw = np.random.default_rng(7)
    flipped = close_loop(make_plant(signs=draw.choice([-1.0, 1.0], len(FREQ_HZ))), settings)
    np.testing.assert_allclose(
        flipped.all_damped.poles.decay_rate_per_s,
        loop.all_damped.poles.decay_rate_per_s,
        rtol=1e-6,
    )
    np.testing.assert_allclose(
        flipped.authority.highest_level_driver_m, loop.authority.highest_level_driver_m, rtol=1e-9
    )


def test_highest_level_is_where_drive_balances_loss(loop, plant):
    """Common practice: at resonance a force F holds F Q / k, independent of how it is sampled."""
    q, index = 1 / (2 * plant.damping_ratio[0]), 0
    force_per_command = np.abs(plant.drive_gain[index]) / (plant.rate_hz**-1 / (2 * np.pi * 197.0))
    stiffness = (2 * np.pi * 197.0) ** 2  # of a unit modal mass
    expected = plant.command_limit * force_per_command * q / stiffness
    assert loop.authority.highest_level_driver_m[0] == pytest.approx(expected, rel=1e-3)


def test_wrong_sign_is_called_unstable(plant, settings):
    good = close_loop(plant, settings)
    wrong = dataclasses.replace(plant, pickup_gain=-plant.pickup_gain)
    matrix = transition_matrix(wrong, good.observer, good.regulators, good.all_damped.gain)
    assert np.abs(linalg.eigvals(matrix)).max() > 1


def test_level_beyond_the_driver_is_named(plant):
    settings = LoopSettings(modes=(ModeControl(mode=6, state="held", level_m=2e-3),))
    findings = close_loop(plant, settings).findings
    assert any("Beyond the driver: mode 6" in text and "2e+03 um" in text for text in findings)


def test_mode_that_does_not_exist_is_refused(plant):
    settings = LoopSettings(modelled_modes=40, modes=(ModeControl(mode=33),))
    with pytest.raises(LoopError, match=r"numbers up to 20.*got 33"):
        close_loop(plant, settings)


def test_unheard_mode_is_refused_if_treated_and_left_out_otherwise(plant):
    heard = plant.pickup_gain.copy()
    heard[2] = 0
    deaf = dataclasses.replace(plant, pickup_gain=heard)
    with pytest.raises(LoopError, match=r"hears mode 3.*node"):
        close_loop(deaf, LoopSettings(modes=(ModeControl(mode=3),)))
    assert 2 not in close_loop(deaf, LoopSettings(modes=(ModeControl(mode=1),))).observer.modes


def test_unreachable_mode_is_refused(plant):
    drive = plant.drive_gain.copy()
    drive[1] = 0
    with pytest.raises(LoopError, match=r"moves mode 2.*node"):
        close_loop(
            dataclasses.replace(plant, drive_gain=drive),
            LoopSettings(modes=(ModeControl(mode=1), ModeControl(mode=2))),
        )


def test_harmonic_of_a_held_mode_on_another_is_told(plant):
    """197 Hz held with a curved pickup: 2 x 197 = 394 Hz lies 26 Hz from a mode, 591 Hz far."""
    settings = LoopSettings(
        observer_bandwidth_hz=15.0, modes=(ModeControl(mode=1, state="held"), ModeControl(mode=2))
    )
    curved = dataclasses.replace(plant, quadratic_per_v=0.02)
    findings = close_loop(curved, settings).findings
    assert [text for text in findings if "twice the pitch of mode 1" in text and "26.0 Hz" in text]
    assert not [text for text in findings if "three times" in text]
    assert not [text for text in close_loop(plant, settings).findings if "Harmonic" in text]


def test_treated_mode_above_half_the_rate_is_refused(plant):
    slow = dataclasses.replace(plant, rate_hz=1000.0)
    message = r"below half the sampling rate \(500 Hz\), got mode 3 at 733 Hz.*converter_rate"
    with pytest.raises(LoopError, match=message):
        close_loop(slow, LoopSettings(modes=(ModeControl(mode=1), ModeControl(mode=3))))


def test_a_decay_that_leaves_no_vibration_is_refused_by_name(plant):
    settings = LoopSettings(modes=(ModeControl(mode=1, decay_s=0.005),))
    with pytest.raises(LoopError, match=r"still vibrate.*mode 1 \(mode at 197\).*longer decays"):
        close_loop(plant, settings)
