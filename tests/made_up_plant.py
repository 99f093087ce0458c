"""A made-up body with twenty modes, a pickup, a driver and 1 ms of delay, for the loop's tests."""

import numpy as np

from modewright.loop.discrete import (
    Sections,
    held_input_gain,
    mode_pole_rad_s,
    sections_from_stages,
)
from modewright.loop.plant import Plant
from modewright.transducers.stage import Stage

RATE_HZ = 48e3
FREQ_HZ = np.array(
    [197.0, 420, 733, 1228, 1500, 2100, 2600, 3000, 3015, 5000, 6200, 7100, 8300, 9100, 10500,
     12000, 13500, 15000, 17000, 19000]
)  # fmt: skip


def make_plant(signs=None, q=800.0, gain=1.0):
    """Plant whose modes are driven and heard with arbitrary but fixed strengths."""
    draw = np.random.default_rng(1)
    count = len(FREQ_HZ)
    damping = np.full(count, 1 / (2 * q))
    pole = mode_pole_rad_s(2 * np.pi * FREQ_HZ, damping)
    strength = draw.choice([-1, 1], (2, count)) * draw.uniform(0.3, 1, (2, count))
    signs = np.ones(count) if signs is None else signs
    corner = Stage(
        name="corner", zeros_rad_s=np.array([0j]), poles_rad_s=np.array([-2 * np.pi * 10 + 0j])
    )
    return Plant(
        rate_hz=RATE_HZ,
        freq_hz=FREQ_HZ,
        damping_ratio=damping,
        labels=tuple(f"mode at {f:.0f}" for f in FREQ_HZ),
        rotation=np.exp(pole / RATE_HZ),
        drive_gain=signs * strength[0] * 250 * held_input_gain(pole, RATE_HZ),
        pickup_gain=gain * signs * strength[1] * 30e3 * np.exp(-1j * 2 * np.pi * FREQ_HZ * 5e-6),
        scale_per_sqrt_kg=np.full(count, 22.0),
        delay_samples=48,
        input_sections=sections_from_stages((corner,), RATE_HZ),
        output_sections=Sections(sos=np.zeros((0, 6))),
        command_limit=0.1,
        command_unit="A",
        drive_per_command=np.ones(count, dtype=complex),
        cold_heat_w=np.full(count, 4.0),
        quadratic_per_v=0.0,
        cubic_per_v2=0.0,
        noise_v_per_rthz=1e-8,
        full_scale_v=50.0,
        touch_level_m=np.full(count, np.inf),
    )
