"""What a driver can do to a mode, against the equation of motion stepped through."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from modewright.transducers.coil_section import CoilSection
from modewright.transducers.electronics import CurrentAmplifier, VoltageAmplifier
from modewright.transducers.moving_coil import MovingCoil
from modewright.transducers.push import ModeAtPoint, push_on_mode

COIL = MovingCoil(
    position_m=(0.0, 0.0),
    force_factor_n_per_a=2.0,
    coil=CoilSection(resistance_ohm=16.0, inductance_h=1e-3),
)
MODE = ModeAtPoint(freq_hz=220.0, damping_ratio=5e-4, stiffness_n_per_m=1000.0)
OMEGA = 2 * np.pi * 220.0


def _push(make_piston, amplifier, level_m=1e-5, force_n_per_drive=-2.0):
    action = COIL.action(make_piston(1000.0).shapes, None)
    return push_on_mode(COIL, action, amplifier, MODE, force_n_per_drive, level_m)


def _moved(force_n, seconds, start=(0.0, 0.0)):
    """Displacement and velocity after a force of time."""

    def rate(t, state):
        mass = 1000.0 / OMEGA**2
        pull = force_n(t, state[1]) - 1000.0 * state[0] - 1e-3 * mass * OMEGA * state[1]
        return [state[1], pull / mass]

    run = solve_ivp(rate, (0.0, seconds), start, rtol=1e-9, atol=1e-13, max_step=1e-4)
    return run.y[:, -1]


def test_strike_of_half_a_period(make_piston):
    push = _push(make_piston, CurrentAmplifier(limit_a=0.05))
    found = _moved(lambda t, _: 2.0 * 0.05 * np.sin(OMEGA * t), np.pi / OMEGA)
    assert push.strike_m == pytest.approx(np.hypot(found[0], found[1] / OMEGA), rel=2e-3)
    assert push.strike_by == "amplifier"


def test_steady_level_and_what_holding_costs(make_piston):
    push = _push(make_piston, CurrentAmplifier(limit_a=0.05))
    assert push.steady_m == pytest.approx(2.0 * 0.05 / 1000.0 / (2 * 5e-4))
    # x = Q F/k: 10 µm take 1e-5 N, 5 µA, R i²/2.
    assert push.hold_w == pytest.approx(16.0 * (5e-6) ** 2 / 2, rel=1e-6)
    assert push.force_at_watt_n == pytest.approx(2.0 * np.sqrt(2 / 16.0))
    assert _push(make_piston, CurrentAmplifier(limit_a=1e-6)).hold_w is None
    # Newton's third law: where the body moves half as much twice the force must stand off.
    assert push.base_n == pytest.approx(1e-5, rel=1e-6)
    nearer_root = _push(make_piston, CurrentAmplifier(limit_a=0.05), force_n_per_drive=1.0)
    assert nearer_root.base_n == pytest.approx(2e-5, rel=1e-6)


def test_braking_at_the_limit(make_piston):
    """A force in phase with -v, a sine of the limit's amplitude, all the way down."""
    push = _push(make_piston, CurrentAmplifier(limit_a=1e-4), level_m=5e-5)

    def brake(t, _):
        return 2e-4 * np.sin(OMEGA * np.sqrt(1 - 5e-4**2) * t)

    found = _moved(brake, push.fall_s, start=(5e-5, 0.0))
    assert np.hypot(found[0], found[1] / OMEGA) < 0.03 * 5e-5


def test_no_brake_is_faster_than_half_a_period(make_piston):
    assert _push(make_piston, CurrentAmplifier(limit_a=1.0)).fall_s == pytest.approx(0.5 / 220.0)


def test_warm_coil_is_weaker_and_later(make_piston):
    push = _push(make_piston, VoltageAmplifier())
    warm = 16.0 * (1 + 60 * 3.93e-3)  # IEC 60028
    ratio = (16 + 1j * OMEGA * 1e-3) / (warm + 1j * OMEGA * 1e-3)
    assert push.warm_db == pytest.approx(20 * np.log10(abs(ratio)), rel=1e-6)
    assert push.warm_deg == pytest.approx(np.degrees(np.angle(ratio)), rel=1e-6)
    assert push.warm_deg > 0  # less late than when cold: the inductance weighs less
    still = _push(make_piston, CurrentAmplifier())
    assert (still.warm_db, still.warm_deg) == (0.0, 0.0)


def test_driver_on_a_node_does_nothing(make_piston):
    push = _push(make_piston, CurrentAmplifier(), force_n_per_drive=0.0)
    assert (push.strike_m, push.steady_m, push.hold_w) == (0.0, 0.0, None)
    # Only the losses are left: ln 1000/(ζ ω).
    assert push.fall_s == pytest.approx(np.log(1000) / (5e-4 * OMEGA), rel=1e-9)
