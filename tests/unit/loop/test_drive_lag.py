"""Hysteresis of the driver in what a loop says of itself."""

import dataclasses

import numpy as np
from scipy.integrate import solve_ivp
from tests.made_up_plant import make_plant

from modewright.loop.close import close_loop
from modewright.loop.drive_lag import lag_when_held
from modewright.loop.settings import LoopSettings, ModeControl
from modewright.transducers.hysteresis import RayleighLag

HELD = LoopSettings(modes=(ModeControl(mode=1, state="held", level_m=20e-6),))


def findings(full_lag_rad):
    lag = RayleighLag(full_drive=0.1, full_lag_rad=full_lag_rad)
    loop = close_loop(dataclasses.replace(make_plant(), drive_lag=lag), HELD)
    return loop, [text for text in loop.findings if text.startswith("Hysteresis")]


def test_small_lag_is_not_told():
    assert findings(1e-4)[1] == []


def test_lag_at_the_limit_against_the_phase_margin():
    loop, told = findings(0.35)
    margin = min(case.margins.phase_deg for case in loop.judged)
    (limit,) = [text for text in told if "command limit" in text]
    assert f"margin of {margin:.0f} degrees" in limit
    # The driver takes 0.1 A at most, where it lags by 0.35 rad.
    assert f"lags by {np.degrees(0.35):.1f} degrees" in limit


def test_held_mode_is_pulled_as_its_equation_says():
    """X'' + ω/Q x' + ω² x = F cos(φ - δ), φ being the phase of the velocity, solved in time."""
    q, lag = 800.0, 0.3
    omega = 2 * np.pi * 197.0

    def rates(_, state):
        x, v = state
        force = omega**2 / q * np.cos(np.arctan2(omega * x, v) - lag)
        return [v, force - omega / q * v - omega**2 * x]

    t = np.linspace(0, 12.0, 240001)
    found = solve_ivp(rates, (0, t[-1]), [0.0, omega], t_eval=t, rtol=1e-9, atol=1e-9)
    phase = np.unwrap(np.arctan2(omega * found.y[0], found.y[1]))
    late = t > 8.0
    pulled = -1200 * np.log2(np.polyfit(t[late], phase[late], 1)[0] / omega)
    plant = dataclasses.replace(
        make_plant(q=q), drive_lag=RayleighLag(full_drive=1.0, full_lag_rad=lag)
    )
    loop = close_loop(plant, HELD)
    # As much drive as makes the driver lag by that.
    full = float(loop.authority.hold_command[0] * np.abs(plant.drive_per_command[0]))
    told = lag_when_held(
        dataclasses.replace(plant, drive_lag=RayleighLag(full_drive=full, full_lag_rad=lag)),
        loop.regulators,
        loop.authority,
    )
    (sentence,) = told
    assert f"by {pulled:.2g} cents" in sentence
    assert f"lags by {np.degrees(lag):.2g} degrees" in sentence
