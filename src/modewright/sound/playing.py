"""Run the core through a timeline, and let every hold begin from the level that sounds then."""

from __future__ import annotations

import dataclasses
import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from modewright.errors import SolveError
from modewright.sound.program import control_curves

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from modewright.loop.regulators import Regulators
    from modewright.sound.engine import Engine
    from modewright.sound.timeline import HoldStart, Timeline

__all__ = ["PlayedSignals", "check_finite", "play"]

_PIECE_BLOCKS = 1500


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlayedSignals:
    """What the core gave for the voice in its first lane.

    Parameters
    ----------
    voltage_v, command : float arrays, shape (samples,)
        [V], [command unit]
    level_m : float array, shape (blocks, regulated)
        As the observer sees it at the end of each block. [m]
    target_m : float array, shape (blocks + 1, regulated)
        Wanted level at every block edge, as it was in the end. [m]
    """

    voltage_v: NDArray[np.float64]
    command: NDArray[np.float64]
    level_m: NDArray[np.float64]
    target_m: NDArray[np.float64]


def check_finite(engine: Engine) -> None:
    """Refuse what the core gave if it ran out of numbers.

    Raises
    ------
    SolveError
    """
    if engine.fault[0]:
        raise SolveError(
            "render: expected finite numbers from the real-time core, got overflow.",
            hint="Lower the strike's force or the levels; see `modewright loop`.",
        )


def play(
    engine: Engine,
    timeline: Timeline,
    regulators: Regulators,
    noise_v: NDArray[np.float64],
    progress: Callable[[float], None] | None = None,
) -> PlayedSignals:
    """Run one voice from rest through a timeline.

    Parameters
    ----------
    engine : Engine
        With the voice in its first lane and the blocks of the timeline.
    timeline : Timeline
    regulators : Regulators
        Of the loop that plays.
    noise_v : float array, shape (samples,)
        Noise of the pickup. [V]
    progress : callable, optional
        Told the share that is done.

    Returns
    -------
    PlayedSignals

    Notes
    -----
    The level from which a hold begins is read a block before it: within that block the gains of the
    regulator already run up to those of a held mode.
    """
    curves, target_m = control_curves(timeline, regulators), timeline.target_m.copy()
    blocks, block, count = curves.block_count, engine.block, len(regulators.modes)
    starts: dict[int, list[HoldStart]] = {}
    for start in timeline.hold_starts:
        starts.setdefault(start.block - 1, []).append(start)
    cuts = sorted({*range(0, blocks, _PIECE_BLOCKS), *starts, blocks})
    voltage_v, command = np.empty((2, blocks * block))
    level_m = np.empty((blocks, count))
    for first, last in itertools.pairwise(cuts):
        for start in starts.get(first, ()):
            sounding_m = float(level_m[first - 1, start.row]) if first else 0.0
            start.write(target_m, timeline.state, sounding_m)
        piece = dataclasses.replace(
            curves.between(first, last), target_m=target_m[first : last + 1]
        )
        part = slice(first * block, last * block)
        out = engine.run(
            (last - first) * block,
            force_n=timeline.force_n[part],
            external=timeline.drive[part],
            noise_v=noise_v[part],
            curves=[piece],
        )
        voltage_v[part], command[part] = out.output_v[:, 0], out.command[:, 0]
        level_m[first:last] = out.level_m[:, :count, 0]
        if progress is not None:
            progress(last / blocks)
    return PlayedSignals(voltage_v=voltage_v, command=command, level_m=level_m, target_m=target_m)
