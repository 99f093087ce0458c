"""Run the core through a timeline, and let every hold begin from the level that sounds then."""

from __future__ import annotations

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
    from modewright.sound.inputs import InputSignals
    from modewright.sound.timeline import HoldStart, Timeline

__all__ = ["PlayedLevels", "play", "play_free"]

_PIECE_BLOCKS = 1500


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlayedLevels:
    """How loud every treated mode was to be and was, for the voice in the core's first lane.

    Parameters
    ----------
    level_m : array, shape (blocks, regulated)
        As the observer sees it at the end of each block, in the precision of the core. [m]
    target_m : float array, shape (blocks + 1, regulated)
        Wanted level at every block edge, as it was in the end. [m]
    """

    level_m: NDArray[np.floating]
    target_m: NDArray[np.float64]


def _check_finite(engine: Engine) -> None:
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
    inputs: InputSignals,
    hear: Callable[[NDArray[np.floating], NDArray[np.floating]], None],
    progress: Callable[[float], None] | None = None,
) -> PlayedLevels:
    """Run one voice from rest through a timeline.

    Parameters
    ----------
    engine : Engine
        With the voice in its first lane and the blocks of the timeline.
    timeline : Timeline
    regulators : Regulators
        Of the loop that plays.
    inputs : InputSignals
        Of the same score, not yet begun.
    hear : callable
        Given voltage and command of each piece, shape (samples,) each, in the precision of the
        core. [V], [command unit]
    progress : callable, optional
        Told the share that is done.

    Returns
    -------
    PlayedLevels

    Raises
    ------
    SolveError
        If the core ran out of numbers.

    Notes
    -----
    The level from which a hold begins is read a block before it: within that block the gains of the
    regulator already run up to those of a held mode.
    """
    target_m = timeline.target_m.copy()
    blocks, block, count = len(timeline.state), engine.block, len(regulators.modes)
    starts: dict[int, list[HoldStart]] = {}
    for start in timeline.hold_starts:
        starts.setdefault(start.block - 1, []).append(start)
    cuts = sorted({*range(0, blocks, _PIECE_BLOCKS), *starts, blocks})
    level_m = np.empty((blocks, count), engine.library.dtype)
    for first, last in itertools.pairwise(cuts):
        for start in starts.get(first, ()):
            sounding_m = float(level_m[first - 1, start.row]) if first else 0.0
            start.write(target_m, timeline.state, sounding_m)
        piece = inputs.take((last - first) * block)
        out = engine.run(
            (last - first) * block,
            force_n=piece.force_n,
            external=piece.drive,
            noise_v=piece.noise_v,
            curves=[control_curves(timeline, target_m, regulators, first, last)],
        )
        _check_finite(engine)
        hear(out.output_v[:, 0], out.command[:, 0])
        level_m[first:last] = out.level_m[:, :count, 0]
        if progress is not None:
            progress(last / blocks)
    return PlayedLevels(level_m=level_m, target_m=target_m)


def play_free(
    engine: Engine,
    samples: int,
    inputs: InputSignals,
    hear: Callable[[NDArray[np.floating]], None],
) -> None:
    """Let a voice without a loop ring for so many samples, in whole blocks.

    Parameters
    ----------
    engine : Engine
        With the voice in its first lane.
    samples : int
    inputs : InputSignals
        Not yet begun; its drive is left out.
    hear : callable
        Given what is heard, shape (samples,), piece by piece.

    Raises
    ------
    SolveError
        If the core ran out of numbers.
    """
    longest = _PIECE_BLOCKS * engine.block
    for first in range(0, samples, longest):
        count = min(longest, samples - first)
        piece = inputs.take(count)
        out = engine.run(count, force_n=piece.force_n, noise_v=piece.noise_v)
        _check_finite(engine)
        hear(out.output_v[:, 0])
