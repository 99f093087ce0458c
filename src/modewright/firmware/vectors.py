"""Test vectors: what the simulation heard and commanded, for the controller to do again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.checks import frozen_array
from modewright.firmware.header import c_array, c_comment, c_float
from modewright.sound.engine import Engine
from modewright.sound.voice_program import ControlCurves

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from modewright.loop.close import ClosedLoop
    from modewright.loop.regulators import Regulators
    from modewright.sound.voice_program import VoiceProgram

__all__ = ["TestVectors", "Wish", "make_vectors", "vectors_header"]

_BLOCKS = 150
_PULSE_S = 1e-3
_EXTERNAL_SHARE = 0.01
_SEED = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What a regulator is told before a sample.

    Parameters
    ----------
    sample, regulator : int
    state : {"free", "held", "damped"}
    level_m : float
        [m]
    """

    sample: int
    regulator: int
    state: str
    level_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TestVectors:
    """One run of the simulation, sample by sample, as float32.

    Parameters
    ----------
    heard_v, external, command : float arrays, shape (samples,)
        Into the controller and out of it. [V], [command unit]
    wishes : tuple of Wish
        In the order of their samples.
    """

    __test__ = False

    heard_v: NDArray[np.float64]
    external: NDArray[np.float64]
    command: NDArray[np.float64]
    wishes: tuple[Wish, ...]

    def __post_init__(self) -> None:
        for name in ("heard_v", "external", "command"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))


def make_vectors(loop: ClosedLoop, program: VoiceProgram, block: int, blow_n: float) -> TestVectors:
    """Strike the simulated body, hold, damp and disturb it.

    Parameters
    ----------
    loop : ClosedLoop
    program : VoiceProgram
        Of that loop.
    block : int
        Samples per control block.
    blow_n : float
        Peak of the blow. [N]

    Returns
    -------
    TestVectors
    """
    samples = _BLOCKS * block
    wishes = _wishes(loop.regulators, block)
    external = np.zeros(samples, np.float32)
    late = samples * 4 // 5
    drawn = np.random.default_rng(_SEED).uniform(-1, 1, samples - late)
    external[late:] = drawn * program.command_limit * _EXTERNAL_SHARE
    force = np.zeros(samples)
    width = max(2, round(_PULSE_S * loop.plant.rate_hz))
    force[block : block + width] = blow_n * np.sin(np.pi * np.arange(width) / width)
    engine = Engine("float32", block=block, longest_delay=program.delay_samples)
    engine.load(0, program)
    out = engine.run(
        samples,
        force_n=force,
        external=external,
        curves=[_curves(loop.regulators, wishes, block)],
    )
    return TestVectors(
        heard_v=out.output_v[:, 0].astype(np.float64),
        external=external.astype(np.float64),
        command=out.command[:, 0].astype(np.float64),
        wishes=wishes,
    )


def _wishes(regulators: Regulators, block: int) -> tuple[Wish, ...]:
    rows = range(len(regulators.modes))
    level = regulators.level_m
    told = [
        (10, row, state, float(level[row]) if state == "held" else 0.0)
        for row, state in enumerate(regulators.state)
    ]
    told += [(50, row, "damped", 0.0) for row in rows]
    told += [(80, row, "held", float(level[row]) / 2) for row in rows]
    told += [(110, 0, "free", 0.0)]
    return tuple(
        Wish(sample=at * block, regulator=row, state=state, level_m=float(np.float32(wanted)))
        for at, row, state, wanted in told
    )


def _curves(regulators: Regulators, wishes: tuple[Wish, ...], block: int) -> ControlCurves:
    """The same for the simulation: a wish stands from the end of the block it comes before."""
    count = len(regulators.modes)
    state = np.full((_BLOCKS + 1, count), "free", dtype=object)
    target_m = np.zeros((_BLOCKS + 1, count))
    for wish in wishes:
        state[wish.sample // block + 1 :, wish.regulator] = wish.state
        target_m[wish.sample // block + 1 :, wish.regulator] = wish.level_m
    is_held, is_damped = state == "held", state == "damped"
    return ControlCurves(
        target_m=target_m,
        gain=is_held * regulators.hold_gain + is_damped * regulators.damp_gain,
        feedforward=is_held[:-1] * regulators.sustain_gain,
        integral_gain=is_held[:-1] * regulators.integral_gain,
        steering=np.broadcast_to(regulators.steering, (_BLOCKS, count)),
    )


def vectors_header(vectors: TestVectors, title: Iterable[str]) -> str:
    """Write ``vectors.h``.

    Parameters
    ----------
    vectors : TestVectors
    title : iterable of str
        Lines that say where they come from.

    Returns
    -------
    str
    """
    wishes = ",\n    ".join(
        f"{{{w.sample}, {w.regulator}, MODE_{w.state.upper()}, {c_float(w.level_m)}}}"
        for w in vectors.wishes
    )
    parts = [
        c_comment(title),
        "#ifndef MODEWRIGHT_VECTORS_H\n#define MODEWRIGHT_VECTORS_H\n",
        '#include "controller.h"\n',
        f"#define VECTOR_SAMPLES {len(vectors.heard_v)}",
        f"#define VECTOR_WISHES {len(vectors.wishes)}\n",
        "typedef struct {\n    int32_t sample, regulator;\n    ModeState state;\n"
        "    float level_m;\n} Wish;\n",
        f"static const Wish vector_wishes[VECTOR_WISHES] = {{\n    {wishes}\n}};\n",
        c_array("vector_heard_v", vectors.heard_v),
        c_array("vector_external", vectors.external),
        c_array("vector_command", vectors.command),
        "#endif",
    ]
    return "\n".join(parts) + "\n"
