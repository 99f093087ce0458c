"""What the real-time core costs, beside other ways to run the same open-loop bank of modes.

``OMP_NUM_THREADS=1 python benchmarks/bench_engine.py`` prints a table. Every figure is the best of
several runs on one core; "x real time" is seconds of sound at 48 kHz for each second of computing.
"""

from __future__ import annotations

import os
import platform
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import signal

from modewright.sound.engine import Engine
from modewright.sound.voice_program import VoiceProgram

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.sound.engine_library import Precision, Width

RATE_HZ = 48_000
MODES, OBSERVED, REGULATED, DELAY = 40, 12, 6, 48
REPEATS = 25


def voice(observed: int = OBSERVED, regulated: int = REGULATED) -> VoiceProgram:
    """A body of 40 modes with a matching observer."""
    rng = np.random.default_rng(1)
    sigma = np.log(1000) / np.geomspace(8, 0.2, MODES)
    rotation = np.exp((2j * np.pi * np.geomspace(196, 19_000, MODES) - sigma) / RATE_HZ)
    drive = 4e-8 * np.exp(2j * np.pi * rng.uniform(size=MODES))
    pickup = np.full(MODES, 1e4, complex)
    sections = np.array([[0.9, 0.1, 0.03, 1, -0.05, 0.02], [1.0, -0.999, 0, 1, -0.998, 0]])
    seen, held = slice(observed), slice(regulated)
    correction = rotation[seen] * 4 * np.pi * 10 / RATE_HZ / pickup[seen]
    per_rate = 2 / RATE_HZ / np.abs(drive[held])
    controlled = observed > 0
    return VoiceProgram(
        rotation=rotation,
        drive_gain=drive,
        force_gain=30 * drive,
        pickup_gain=pickup,
        quadratic_per_v=0.01 * controlled,
        cubic_per_v2=0.001 * controlled,
        full_scale_v=10.0,
        input_sections=sections if controlled else np.zeros((0, 6)),
        output_sections=sections[:1] if controlled else np.zeros((0, 6)),
        delay_samples=DELAY,
        command_limit=1.0,
        observer_rotation=rotation[seen],
        observer_drive_gain=drive[seen],
        observer_pickup_gain=pickup[seen],
        correction=correction,
        predicted_correction=rotation[seen] ** DELAY * correction,
        target_m=np.full(regulated, 2e-5),
        gain=20 * per_rate,
        feedforward=sigma[held] * per_rate,
        integral_gain=40 * per_rate / RATE_HZ,
        integral_limit=np.full(regulated, 0.2),
        amp_limit=np.full(regulated, 0.8),
        silence_m=np.full(regulated, 1e-8),
        steering=drive[held].conj() / np.abs(drive[held]),
    )


def strike(seconds: float) -> np.ndarray:
    force = np.zeros(int(seconds * RATE_HZ))
    force[:96] = 1 - np.cos(2 * np.pi * np.arange(96) / 96)
    return force


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One line of the table: what to run, and for how many seconds of sound."""

    name: str
    seconds: float
    run: Callable[[], object]
    before: Callable[[], object] = lambda: None


def measure(cases: list[Case]) -> list[float]:
    """Least computing time for a second of sound.

    The cases take turns, so that a busy neighbour does not hit one of them alone.
    """
    best = [np.inf] * len(cases)
    for _ in range(REPEATS):
        for index, case in enumerate(cases):
            case.before()
            start = time.perf_counter()
            case.run()
            best[index] = min(best[index], (time.perf_counter() - start) / case.seconds)
    return best


def core(program: VoiceProgram, voices: int, precision: Precision, width: Width) -> Case:
    engine = Engine(precision, width)
    for lane in range(voices):
        engine.load(lane, program)
    force = strike(1.0)
    return Case(
        name=f"core, {precision}, {width}, {voices} voice{'s' if voices > 1 else ''}",
        seconds=1.0,
        run=lambda: engine.run(len(force), force_n=force),
        before=engine.reset,
    )


def lfilter_per_mode(program: VoiceProgram, force: np.ndarray) -> np.ndarray:
    """Open-loop bank as one two-pole filter for each mode."""
    residue = program.pickup_gain * program.force_gain
    output = np.zeros(len(force))
    for pole, gain in zip(program.rotation, residue, strict=True):
        b = [0, gain.real, -(gain * np.conj(pole)).real]
        output += signal.lfilter(b, [1, -2 * pole.real, abs(pole) ** 2], force)
    return output


def numpy_time_loop(program: VoiceProgram, force: np.ndarray) -> np.ndarray:
    """Open-loop bank as a vector of complex states moved on sample by sample."""
    state = np.zeros(MODES, complex)
    output = np.zeros(len(force))
    for k, now in enumerate(force):
        output[k] = (program.pickup_gain @ state).real
        state = program.rotation * state + program.force_gain * now
    return output


def check_same_sound(bank: VoiceProgram) -> None:
    force = strike(0.1)
    engine = Engine("float64")
    engine.load(0, bank)
    wave = engine.run(len(force), force_n=force).output_v[:, 0]
    for other in (lfilter_per_mode(bank, force), numpy_time_loop(bank, force)):
        np.testing.assert_allclose(wave, other, rtol=0, atol=1e-9 * np.abs(wave).max())


def print_table(title: str, cases: list[Case]) -> None:
    best = measure(cases)
    print(f"{title:50} {'real time':>11} {'ns/sample':>10} {'ratio':>7}")
    for case, seconds in zip(cases, best, strict=True):
        print(
            f"  {case.name:48} {1 / seconds:9.1f} x {1e9 * seconds / RATE_HZ:10.1f} "
            f"{seconds / best[0]:7.2f}"
        )


def main() -> None:
    """Print both tables."""
    print(f"{platform.machine()}, {os.cpu_count()} cores, one used, best of {REPEATS}")
    widths: list[Width] = ["avx2", "baseline"] if platform.machine() == "x86_64" else ["baseline"]
    precisions: list[Precision] = ["float32", "float64"]
    print(f"{MODES} modes, {OBSERVED} observed, {REGULATED} regulated, all sections and limits")
    full = voice()
    print_table(
        "closed loop", [core(full, n, p, w) for p in precisions for w in widths for n in (1, 8)]
    )
    bank = voice(0, 0)
    check_same_sound(bank)
    long, short = strike(1.0), strike(0.1)
    print_table(
        f"open loop, {MODES} modes, struck once",
        [
            core(bank, 1, "float32", "auto"),
            core(bank, 8, "float32", "auto"),
            core(bank, 1, "float64", "auto"),
            Case(
                name="scipy.signal.lfilter for each mode, float64",
                seconds=1.0,
                run=lambda: lfilter_per_mode(bank, long),
            ),
            Case(
                name="numpy, loop over samples, complex128",
                seconds=0.1,
                run=lambda: numpy_time_loop(bank, short),
            ),
        ],
    )


if __name__ == "__main__":
    main()
