"""Tones of the square of the current against the motion itself, stepped through time."""

import dataclasses

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from made_up_plant import make_plant
from modewright.loop.close import close_loop
from modewright.loop.driver_products import moved_m
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.modes.basis import ModalBasis
from modewright.transducers.port import DriverPort

MASS_KG, OTHER_HZ, Q, FORCE_N_PER_A = 2e-3, 401.0, 50.0, 0.8


@pytest.fixture
def lone_plant():
    """Sampled body with one mode, through the same door as a design's."""
    from modewright.loop.plant import build_plant
    from modewright.transducers.electronics import Electronics
    from modewright.transducers.port import PickupPort

    class Piston:
        def displacement(self, points_m):
            normal = np.full((len(points_m), 1), 1 / np.sqrt(MASS_KG))
            return np.stack([0 * normal, 0 * normal, normal], axis=1)

    basis = ModalBasis(
        freq_hz=np.array([OTHER_HZ]),
        damping_ratio=np.array([1 / (2 * Q)]),
        shapes=Piston(),
        labels=("piston",),
    )
    pickup = PickupPort(
        name="plate", volts_per_coordinate=np.array([1e3]), quadratic_per_v=0.0, cubic_per_v2=0.0,
        path=(), noise_v_per_rthz=1e-8, full_scale_v=1.0,
    )  # fmt: skip
    driver = DriverPort(
        name="pole", force_per_drive=np.array([FORCE_N_PER_A / np.sqrt(MASS_KG)]),
        drive_unit="A", path=(), command_unit="A", command_limit=1.0,
        cold_heat_w=np.array([4.0]), current_a_per_drive=np.ones(1), bias_current_a=0.4,
    )  # fmt: skip
    chain = Electronics(total_delay_s=1e-3)
    return build_plant(basis, pickup, driver, chain, (0.0, 0.0))


def test_square_of_the_current_moves_a_mode_at_twice_the_pitch(lone_plant):
    """A spring and a mass under F = c (i0 + i)², i at 200 Hz, the mode at 401 Hz."""
    bias_a, current_a, drive_hz = lone_plant.bias_current_a, 0.1, 200.0
    omega = 2 * np.pi * OTHER_HZ

    def rates(t, y):
        i = current_a * np.cos(2 * np.pi * drive_hz * t)
        push = FORCE_N_PER_A * ((bias_a + i) ** 2 - bias_a**2) / (2 * bias_a)
        return [y[1], push / MASS_KG - omega / Q * y[1] - omega**2 * y[0]]

    times = 0.5 + np.arange(4096) / 4096 * 0.2  # forty periods after the start has died away
    done = solve_ivp(rates, (0, 0.7), [0.0, 0.0], t_eval=times, rtol=1e-9, atol=1e-15)
    line_m = 2 * abs(np.mean(done.y[0] * np.exp(-4j * np.pi * drive_hz * times)))
    told_m = moved_m(lone_plant, 2 * drive_hz, current_a**2 / (4 * bias_a))[0]
    assert told_m == pytest.approx(line_m, rel=0.01)


def findings(bias_current_a):
    plant = dataclasses.replace(make_plant(), bias_current_a=bias_current_a)
    held = ModeControl(mode=5, state="held", level_m=20e-6)  # 1500 Hz; mode 8 is at 3000
    loop = close_loop(plant, LoopSettings(modes=(held, ModeControl(mode=8))))
    return [text for text in loop.findings if text.startswith("Harmonic of the driver")]


def test_mode_at_twice_a_held_pitch_is_told_if_the_bias_is_weak():
    assert findings(np.inf) == []
    assert findings(1e3) == []
    (text,) = [t for t in findings(5e-3) if "mode 8 (mode at 3000)" in t]
    assert "twice the pitch of mode 5 (mode at 1500), which is to be held, lies 0.0 Hz" in text
    assert "stronger bias_flux_density" in text
