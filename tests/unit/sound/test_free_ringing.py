"""A struck body left to itself against scipy's solution of its modes, one by one."""

import numpy as np
import pytest
from scipy import signal

from modewright.errors import SolveError
from modewright.modes.basis import ModalBasis
from modewright.sound.free_ringing import ring_freely
from modewright.sound.inputs import InputSignals
from modewright.sound.scaling import scaled_sound
from modewright.sound.score import Score, Strike
from modewright.sound.settings import StrikeSettings
from modewright.transducers.electronics import Electronics
from modewright.transducers.port import PickupPort

TIP, MIDDLE = (0.06, 0.0), (0.03, 0.0)
NORMAL = {TIP: [30.0, -28.0, 25.0], MIDDLE: [10.0, 20.0, -18.0]}
FREQ_HZ = np.array([205.0, 1280.0, 3590.0])
DAMPING = np.array([5e-4, 4e-4, 6e-4])
SCORE = Score(length_s=0.25, strikes=(Strike(at_s=0.01), Strike(at_s=0.1, strength=0.5)))
STRIKE = StrikeSettings(force_n=0.5, width_s=1e-3)


class Shapes:
    """Known at two places."""

    mode_count = 3
    peak = np.full(3, 30.0)

    def displacement(self, points_m):
        moved = np.zeros((len(points_m), 3, 3))
        moved[:, 2] = [NORMAL[tuple(point)] for point in points_m]
        return moved


BASIS = ModalBasis(freq_hz=FREQ_HZ, damping_ratio=DAMPING, shapes=Shapes(), labels=("a", "b", "c"))


def motion_m(samples, rate_hz):
    """Motion of the tip when the middle is struck."""
    force = InputSignals(SCORE, STRIKE, rate_hz).take(samples).force_n
    total = np.zeros(samples)
    for f, zeta, there, here in zip(FREQ_HZ, DAMPING, NORMAL[MIDDLE], NORMAL[TIP], strict=True):
        omega = 2 * np.pi * f
        body = signal.cont2discrete(([1.0], [1.0, 2 * zeta * omega, omega**2]), 1 / rate_hz, "zoh")
        total += there * here * signal.lfilter(np.ravel(body[0]), body[1], force)
    return total


def test_motion_of_the_reference_point_in_metres():
    electronics = Electronics()
    played = ring_freely(BASIS, None, electronics, TIP, SCORE, STRIKE, MIDDLE)
    wanted = motion_m(len(played.output), electronics.rate_hz)
    assert played.unit == "m"
    assert played.clipped_share == 0
    # The core counts in 32 bits.
    lag = np.argmax(signal.correlate(played.output, wanted)) - (len(wanted) - 1)
    assert abs(lag) <= 1
    aligned = np.roll(wanted, lag)
    assert np.abs(played.output - aligned).max() < 1e-4 * np.abs(wanted).max()


def test_pickup_without_driver_gives_volts():
    port = PickupPort(
        name="flat",
        volts_per_coordinate=1e3 * np.array(NORMAL[TIP]),
        quadratic_per_v=0.0,
        cubic_per_v2=0.0,
        path=(),
        noise_v_per_rthz=0.0,
        full_scale_v=10.0,
    )
    electronics = Electronics()
    played = ring_freely(BASIS, port, electronics, TIP, SCORE, STRIKE, MIDDLE)
    wanted_v = 1e3 * motion_m(len(played.output), electronics.rate_hz)
    assert played.unit == "V"
    # Filter and converter delay it and take a little of the highest mode.
    assert np.abs(played.output).max() == pytest.approx(np.abs(wanted_v).max(), rel=0.02)


def test_signal_without_a_scale_of_its_own_stands_at_the_ceiling():
    sound = scaled_sound(np.array([0.0, -2e-6, 1e-6]), 48e3, None, "m", -6.0)
    assert np.abs(sound.samples).max() == pytest.approx(10 ** (-6 / 20))
    assert sound.full_scale == pytest.approx(2e-6 * 10 ** (6 / 20))
    assert (sound.lowered_db, sound.unit) == (0.0, "m")
    assert np.all(scaled_sound(np.zeros(3), 48e3, None, "m", -6.0).samples == 0)


def test_a_core_that_runs_out_of_numbers_is_told():
    blow = StrikeSettings(force_n=1e300, width_s=1e-3)
    with pytest.raises(SolveError, match="got overflow"), np.errstate(over="ignore"):
        ring_freely(BASIS, None, Electronics(), TIP, SCORE, blow, MIDDLE)
